"""Garbage is looked for while nobody types.

A full search halts the screen, for a tenth of a second and more with thousands of cases in memory.
"""

from __future__ import annotations

import gc
from time import monotonic
from typing import TYPE_CHECKING

from textual import events

if TYPE_CHECKING:
    from fieldnotes.tui.app import FieldnotesApp

LOOK_EVERY_S = 1.0
QUIET_S = 3.0


class Tidying:
    """Searches once in every stretch of quiet, and sets aside all that is in use.

    What is set aside is passed over by the searches the interpreter makes by itself, so that
    these are short; it is taken back in before the next search of ours.
    """

    def __init__(self, app: FieldnotesApp) -> None:
        self._app = app
        self._touched_s = monotonic()
        self._due = True

    def touched(self, event: events.Event) -> None:
        """Take note that somebody is there."""
        if isinstance(event, events.InputEvent | events.Paste):
            self._touched_s, self._due = monotonic(), True

    def if_quiet(self) -> None:
        """Search, in a thread, if nobody typed for a while and nothing is at work."""
        if self._due and monotonic() - self._touched_s >= QUIET_S and not len(self._app.workers):
            self._due = False
            self._app.run_worker(tidy, thread=True, group="tidying")


def tidy() -> None:
    """Free what is garbage and set the rest aside."""
    gc.unfreeze()
    gc.collect()
    gc.freeze()
