"""Keys are handed on one at a time, each when the one before has done its work; none goes astray.

What is typed ahead, as on a slow line, so finds the screen and the field it was meant for. Keys
typed while the store, a screen or a form opens wait for it.
"""

from __future__ import annotations

from collections import deque
from time import monotonic
from typing import TYPE_CHECKING

from textual import events, on
from textual.app import App
from textual.message import Message

if TYPE_CHECKING:
    from textual.dom import DOMNode
    from textual.timer import Timer
    from textual.widget import Widget

LOOK_EVERY_S = 0.1
LOST_AFTER_S = 3.0
CLIMBS = 2
ALWAYS = "ctrl+q"


class KeysFreed(Message):
    """What the keys waited for is open."""


class HeldKeys(App[None]):
    """An app that keeps what is typed until it is ready for it; leaving is always possible."""

    def __init__(self, *, ansi_color: bool | None = None) -> None:
        super().__init__(ansi_color=ansi_color)
        self._holding = False
        self._passing = False
        self._held: deque[events.Key | events.Paste] = deque()
        self._lost: Timer | None = None
        self._since_s = 0.0

    @property
    def keys_waiting(self) -> bool:
        """Whether a key was typed that has not done its work yet."""
        return self._passing or bool(self._held)

    def hold_keys(self) -> None:
        """Keep every key from now on; clicks are let fall."""
        self._holding = True

    def free_keys(self) -> None:
        """Hand over the keys kept, one after the other."""
        if self._holding:
            self.post_message(KeysFreed())

    async def on_event(self, event: events.Event) -> None:
        """Keep a key that must wait; hand on anything else."""
        if isinstance(event, events.Key | events.Paste) and not event.is_forwarded:
            if not (isinstance(event, events.Key) and event.key == ALWAYS):
                self._held.append(event)
                await self._next()
                return
        elif isinstance(event, events.MouseEvent) and self._holding and not event.is_forwarded:
            return
        await super().on_event(event)

    @on(KeysFreed)
    async def _free(self) -> None:
        self._holding = False
        await self._next()

    def _passed(self) -> None:
        if self._lost is not None:
            self._lost.stop()
            self._lost = None
        self._passing = False
        self.call_later(self._next)  # after what the key has put off, as a change of focus is

    async def _next(self) -> None:
        if self._holding or self._passing or not self._held:
            return
        self._passing = True
        await super().on_event(self._held.popleft())
        carrier = self.focused or self.screen
        if not carrier.call_later(self._climb, carrier, CLIMBS):
            self._passed()
            return
        self._since_s = monotonic()
        self._lost = self.set_interval(LOOK_EVERY_S, lambda: self._look_after(carrier))

    def _climb(self, node: DOMNode, left: int) -> None:
        """Follow a key up from the focused widget, behind all that it set going on the way.

        What a widget posts while it works on the key stands behind this call in its queue, so the
        call goes to the back until nothing does; only then is its parent asked. A key bound to an
        action is acted on at the top, and what that posts below is followed by a second climb.
        """
        if node is self:
            left -= 1
            if not left:
                self._passed()
                return
            above: DOMNode = self.focused or self.screen
        else:
            above = node if node.message_queue_size else node.parent or self
        if not above.call_later(self._climb, above, left):
            self._passed()

    def _look_after(self, carrier: Widget) -> None:
        """Wait no longer for a widget that is gone; a busy one is only slow."""
        gone = not (carrier.is_attached and carrier.is_running)
        if gone or monotonic() - self._since_s > LOST_AFTER_S:
            self._passed()
