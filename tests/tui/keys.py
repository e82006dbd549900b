"""Presses keys only, counts them, and waits for what the desk answers."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.app import App
    from textual.pilot import Pilot


class Keys:
    """A vet's fingers on a piloted app; `count` leaves out what is free text."""

    def __init__(self, app: App, pilot: Pilot) -> None:
        self.app = app
        self.pilot = pilot
        self.count = 0

    async def settle(self) -> None:
        for _ in range(2):
            await self.app.workers.wait_for_complete()
            await self.pilot.pause()

    async def press(self, *keys: str) -> None:
        for key in keys:
            self.count += 1
            await self.pilot.press(key)
        await self.settle()

    async def type(self, text: str) -> None:
        names = {" ": "space", ".": "full_stop", ",": "comma"}
        await self.press(*(names.get(c, c) for c in text))

    async def free_text(self, text: str) -> None:
        before = self.count
        await self.type(text)
        self.count = before
