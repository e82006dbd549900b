"""Presses keys only, counts them, and waits for what the desk answers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.widgets import Input

if TYPE_CHECKING:
    from textual.app import App
    from textual.pilot import Pilot

MOST_WAITS = 200
NAMES = {" ": "space", ".": "full_stop", ",": "comma", "+": "plus", "-": "minus", "/": "slash"}


class Keys:
    """A vet's fingers on a piloted app; `count` leaves out what is free text."""

    def __init__(self, app: App, pilot: Pilot) -> None:
        self.app = app
        self.pilot = pilot
        self.count = 0

    async def settle(self) -> None:
        """Wait until nothing is left to do: work of the desk, and keys that waited for it."""
        for _ in range(MOST_WAITS):
            await self.app.workers.wait_for_complete()
            await self.pilot.pause()
            await self.app.workers.wait_for_complete()
            await self.pilot.pause()
            if not getattr(self.app, "keys_waiting", False):
                return
            await self.pilot.pause(0.01)

    async def press(self, *keys: str) -> None:
        self.count += len(keys)
        await self.pilot.press(*keys)
        await self.settle()

    async def type(self, text: str) -> None:
        await self.press(*(NAMES.get(c, c) for c in text))

    async def free_text(self, text: str) -> None:
        """Put words into the field as a paste does; free text is not counted."""
        editor = self.app.focused
        assert isinstance(editor, Input)
        editor.value = text
        await self.settle()
