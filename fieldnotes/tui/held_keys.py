"""Keys typed while the store or a form opens wait for it, in order; none goes astray."""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

from textual import events, on
from textual.app import App
from textual.message import Message

if TYPE_CHECKING:
    from textual.timer import Timer

LOST_AFTER_S = 0.5
ALWAYS = "ctrl+q"


class KeysFreed(Message):
    """What the keys waited for is open."""


class KeyPassed(Message):
    """Follows a key on its way up from the focused widget, so that the next one comes after it."""


class HeldKeys(App[None]):
    """An app that can keep what is typed until it is ready for it; leaving is always possible."""

    def __init__(self, *, ansi_color: bool | None = None) -> None:
        super().__init__(ansi_color=ansi_color)
        self._holding = False
        self._held: deque[events.Key | events.Paste] = deque()
        self._lost: Timer | None = None

    def hold_keys(self) -> None:
        """Keep every key from now on; clicks are let fall."""
        self._holding = True

    def free_keys(self) -> None:
        """Hand over the keys kept, one after the other."""
        if self._holding:
            self.post_message(KeysFreed())

    async def on_event(self, event: events.Event) -> None:
        """Keep a key that must wait; hand on anything else."""
        waits = self._holding or bool(self._held)
        if waits and isinstance(event, events.InputEvent | events.Paste):
            if isinstance(event, events.MouseEvent) and self._holding and not event.is_forwarded:
                return
            if (
                isinstance(event, events.Key | events.Paste)
                and not event.is_forwarded
                and not (isinstance(event, events.Key) and event.key == ALWAYS)
            ):
                self._held.append(event)
                return
        await super().on_event(event)

    @on(KeysFreed)
    async def _free(self) -> None:
        self._holding = False
        await self._pass_on()

    @on(KeyPassed)
    async def _pass_on(self) -> None:
        if self._lost is not None:
            self._lost.stop()
            self._lost = None
        if self._holding or not self._held:
            return
        await super().on_event(self._held.popleft())
        if self._held:
            (self.focused or self.screen).post_message(KeyPassed())
            self._lost = self.set_timer(LOST_AFTER_S, self._pass_on)  # its widget may be gone
