"""The form that writes the controlled-drug register of a period into a file."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

from fieldnotes.casework.register_page import FORMATS, PERIOD_DAYS, register_page
from fieldnotes.casework.views import Saved
from fieldnotes.domain.entries import REGISTER
from fieldnotes.domain.errors import Problem
from fieldnotes.tui.fields.choices import ChoiceField, of_words
from fieldnotes.tui.fields.field import Field
from fieldnotes.tui.fields.moments import DateField
from fieldnotes.tui.files import write_new
from fieldnotes.tui.forms.form import Answers, Form, Outlook, Pane, Reading

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework


class RegisterPrint(Form):
    """From, to, format and file; the review page shows the register as it will be written."""

    name = "vial_print"
    title = "Print the register"

    def __init__(self, desk: Casework, _ref: str = "") -> None:
        self._desk = desk

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the one page; the file is named after the period."""
        today = self._desk.today()
        r = Reading((Pane("", "", self._period(today)),), answers)
        start, end, form = r.get("from"), r.get("to"), r.get("format") or "text"
        name = f"register-{start}-to-{end}.{FORMATS[form]}" if start and end else ""
        file = Field(key="file", label="Into the file", required=True,
                     default=str(Path.home() / name) if name else "",
                     hint="a file that is there already is never written over")  # fmt: skip
        return (Pane(self.name, "Register", (*self._period(today), file)),)

    def _period(self, today: dt.date) -> tuple[Field, ...]:
        begin = today - dt.timedelta(days=PERIOD_DAYS)
        return (
            DateField(key="from", label="From", today=today, past=True, required=True,
                      default=begin.isoformat()),
            DateField(key="to", label="To", today=today, past=True, required=True,
                      default=today.isoformat()),
            ChoiceField(key="format", label="As", given=of_words(FORMATS), default="text"),
        )  # fmt: skip

    def _page(self, r: Reading, form: str) -> bytes:
        return register_page(self._desk, r.get("from"), r.get("to"), form)

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give what cannot be read, a period the wrong way round, a file that is there."""
        r = Reading(self.panes(answers), answers)
        if faults := r.faults():
            return faults
        if r.get("to") < r.get("from"):
            return (Problem("to", "the period ends before it begins"),)
        path = Path(r.get("file")).expanduser()
        if path.exists():
            return (Problem("file", f"{path} is there already; choose another name"),)
        return ()

    def outlook(self, answers: Answers) -> Outlook:
        """Give the register as it will be written."""
        if self.problems(answers):
            return Outlook()
        page = self._page(Reading(self.panes(answers), answers), "text")
        return Outlook("The register", tuple(page.decode("utf-8").splitlines()))

    def aside(self, answers: Answers) -> str:
        """Name the file."""
        return f"written to {Reading(self.panes(answers), answers).get('file')}"

    def save(self, answers: Answers) -> Saved:
        """Write the file; StoreError if it cannot be."""
        r = Reading(self.panes(answers), answers)
        write_new(Path(r.get("file")).expanduser(), self._page(r, r.get("format") or "text"))
        return Saved(REGISTER, ())
