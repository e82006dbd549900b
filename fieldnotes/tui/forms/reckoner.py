"""The key to the calculators, and what a visit form does with a result."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on
from textual.message import Message

from fieldnotes.tui.fields.row import Answered, FieldRow
from fieldnotes.tui.screens.base import DeskScreen

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldnotes.tui.forms.form import Form
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


class FormReckoner(Reckoner):
    """A form that takes results: as if each answer had been typed."""

    form: Form
    answers: dict[str, str]
    _pane: str

    def bench(self) -> Callable[[], Bench | None]:
        """Give what lays out the form's answers for the page in front."""
        form, answers, pane = self.form, dict(self.answers), self._pane
        return lambda: form.bench(answers, pane)

    def take_reckoned(self, found: Reckoned | None) -> None:
        """Put a result into its fields, those on this page and those on others."""
        if found is None:
            return
        rows = {row.field.key: row for row in self.query(FieldRow)}
        puts = found.into(self.answers)
        for key, answer in puts:
            if key in rows:
                rows[key].take(answer)
            else:
                self.post_message(Answered(key, answer))
        panes = self.form.panes({**self.answers, **dict(puts)})
        labels = {f.key: f"{p.title}, {f.label}" for p in panes for f in p.fields}
        self.say("✓ put in: " + "; ".join(labels[k] for k, _ in puts if k in labels), "done")
