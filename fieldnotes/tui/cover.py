"""Covers the screen: by a key, and after minutes in which none was pressed."""

from __future__ import annotations

from time import monotonic
from typing import TYPE_CHECKING

from textual import events

from fieldnotes.tui.screens.base import DeskScreen

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldnotes.tui.app import FieldnotesApp
    from fieldnotes.tui.ports import Locking

LOOK_EVERY_S = 5.0
WORDS = (
    "Covered. What was typed is kept as a draft.\n\n"
    "Passphrase, recovery key, or the PIN if one was set:"
)


class Cover:
    """Watches for idleness and puts the cover over whatever is in front."""

    def __init__(self, app: FieldnotesApp) -> None:
        self._app = app
        self._touched_s = monotonic()
        self._on = False
        self._waiting: list[Callable[[], object]] = []

    def touched(self, event: events.Event) -> None:
        """Take note that somebody is there."""
        if isinstance(event, events.InputEvent | events.Paste):
            self._touched_s = monotonic()

    @property
    def _locking(self) -> Locking | None:
        return self._app.upkeep.locking if self._app.upkeep is not None else None

    def if_idle(self) -> None:
        """Cover the screen if nobody was there for the minutes set."""
        locking = self._locking
        minutes = locking.idle_min if locking is not None else 0
        if minutes and monotonic() - self._touched_s >= 60 * minutes:
            self.now()

    def now(self) -> None:
        """Cover the screen, where there is a passphrase to uncover it with."""
        locking, front = self._locking, self._app.screen
        if self._on:
            return
        if locking is not None and locking.locked:
            from fieldnotes.tui.screens.covered import CoveredScreen  # noqa: PLC0415  (seldom needed)

            self._on = True
            self._app.push_screen(CoveredScreen(locking.check, WORDS), self._gone)
        elif isinstance(front, DeskScreen):
            front.say("! no passphrase is set yet: U, then l", "overdue")

    def delays(self, change: Callable[[], object]) -> bool:
        """Whether a change of screens must wait, since it would take the cover away."""
        if self._on:
            self._waiting.append(change)
        return self._on

    def _gone(self, _: bool | None) -> None:
        self._on = False
        self._touched_s = monotonic()
        waiting, self._waiting = self._waiting, []
        for change in waiting:
            self._app.call_next(change)
