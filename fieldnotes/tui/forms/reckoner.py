"""The key to the calculators."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on
from textual.message import Message

from fieldnotes.tui.screens.base import DeskScreen

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldnotes.tui.forms.reckon_page import Bench, Reckoned

NOT_HERE = "the calculators are for a visit: F7 there, on a case, or on Today"


class BenchLaid(Message):
    """What the calculators start from was looked up; None where there is nothing to do."""

    def __init__(self, bench: Bench | None) -> None:
        super().__init__()
        self.bench = bench


class Reckoner(DeskScreen):
    """A screen that opens the calculators; what is typed there is kept as long as it is open."""

    def __init__(self) -> None:
        super().__init__()
        self._reckoning: dict[str, dict[str, str]] = {}

    def bench(self) -> Callable[[], Bench | None]:
        """Give what looks up what the calculators start from; it runs in a thread."""
        raise NotImplementedError

    def action_reckon(self) -> None:
        """Look up what is known, then open the calculators."""
        lay = self.bench()
        self.ask(lambda: BenchLaid(lay()), "reckon")

    @on(BenchLaid)
    def _open_reckoning(self, event: BenchLaid) -> None:
        from fieldnotes.tui.screens.reckon import ReckonScreen  # noqa: PLC0415  (seldom needed)

        if event.bench is None:
            self.say(NOT_HERE)
        elif self.is_current:  # the key may be pressed twice before the first answer
            self.app.push_screen(ReckonScreen(event.bench, self._reckoning), self.take_reckoned)

    def take_reckoned(self, found: Reckoned | None) -> None:
        """Do with a result what the screen can; by default nothing."""
