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

LOOK_EVERY_S = 0.1
LOST_AFTER_S = 3.0
# Once behind the key itself; once behind what is done at the top, as an action or a change of
# focus; once behind the message a widget has taken out of its queue to look at: it is not counted.
CLIMBS = 3
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
        self._carrier: DOMNode | None = None
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
        self._carrier = None
        self._passing = False
        self.call_later(self._next)  # after what the key has put off, as a change of focus is

    async def _next(self) -> None:
        if self._holding or self._passing or not self._held:
            return
        self._passing = True
        await super().on_event(self._held.popleft())
        self._since_s = monotonic()
        self._lost = self.set_interval(LOOK_EVERY_S, self._look_after)
        self._climb_on(self.focused or self.screen, CLIMBS)

    def _climb_on(self, node: DOMNode, left: int) -> None:
        self._carrier = node
        if not node.call_later(self._climb, node, left):
            self._passed()

    def _climb(self, node: DOMNode, left: int) -> None:
        """Follow a key up from the focused widget, behind all that it set going on the way.

        What a widget posts while it works on the key stands behind this call in its queue, so the
        call goes to the back until nothing does; only then is its parent asked.
        """
        if node is not self._carrier:
            return  # given up for lost
        if node is not self:
            self._climb_on(node if node.message_queue_size else node.parent or self, left)
        elif left > 1:
            self._climb_on(self.focused or self.screen, left - 1)
        else:
            self._passed()

    def _look_after(self) -> None:
        """Wait no longer for a widget that is gone; a busy one is only slow."""
        node = self._carrier
        gone = node is None or not (node.is_attached and node.is_running)
        if gone or monotonic() - self._since_s > LOST_AFTER_S:
            self._passed()
