"""A visit form that can be filled in at once, and kept as a template."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from fieldnotes.casework.wound_templates import WoundTemplates
from fieldnotes.tui.forms.filling import MARK, Offer, Shelf, offers_of
from fieldnotes.tui.forms.form import Form
from fieldnotes.tui.forms.one_line import fill, lines_of, note_answer

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework
    from fieldnotes.clinical.one_line import NoteReader
    from fieldnotes.tui.forms.drug_panes import Patient
    from fieldnotes.tui.forms.form import Answers


class FillableForm(Form):
    """Reads a line over the desk's knowledge, and offers the practice's templates."""

    fills = True
    _desk: Casework

    def patient(self, answers: Answers) -> Patient:
        """Give for whom doses are reckoned."""
        raise NotImplementedError

    @cached_property
    def _reader(self) -> NoteReader:
        from fieldnotes.clinical.one_line import NoteReader  # noqa: PLC0415  (seldom needed)
        from fieldnotes.knowledge.shorthand import load_shorthand  # noqa: PLC0415

        known = self._desk.knowledge
        horses = {h.name: h.id for h in self._desk.register().horses.values()}
        drugs = {d.id: d.name for d in known.drugs}
        return NoteReader(load_shorthand(), known.regions, known.limits, drugs, horses)

    def hear(
        self, text: str, answers: Answers, pane: str, width: int
    ) -> tuple[tuple[str, ...], Offer | None]:
        """Read a line for the wound of a page: what to show of it, and what it fills in."""
        label = self.wound_on(pane)
        note = self._reader.read(text)
        filled = fill(self, answers, note, label)
        found = {p.key: p.answer for p in filled.puts}
        marks = {MARK + p.key: f"from '{p.words}'" for p in filled.puts if p.guess}
        if filled.kept:
            key = f"findings.{label}.note"
            found[key] = note_answer(answers.get(key, ""), filled.kept)
        everything = tuple({**found, **marks}.items())
        return lines_of(filled, note, width), Offer("", "", everything, "") if found else None

    def wound_on(self, pane: str) -> str:
        """Give the letter of the wound a page is about; the first wound's on any other page."""
        ids = [p.id for p in self.panes({}) if p.id.startswith("wound-")]
        letter = pane.rpartition("-")[2]
        return letter if len(letter) == 1 and letter.isupper() else ids[0][-1] if ids else "A"

    def offers(self) -> tuple[Offer, ...]:
        """Give what fills the form at once: last time, then the templates."""
        before = self.carried()
        ours = offers_of(self._desk.register().templates, self)
        return (*((before,) if before else ()), *ours)

    def carried(self) -> Offer | None:
        """Give what was done last time; None where there was no last time."""
        return None

    def shelf(self) -> Shelf:
        """Give what is offered and what can be done with a template."""
        ours, known = WoundTemplates(self._desk), self._desk.register
        return Shelf(
            self.offers,
            lambda ident: ours.remove(known().templates[ident]),
            lambda ident, name: ours.rename(known().templates[ident], name),
            ours.name_fault,
        )

    def keep_template(self, name: str, answers: Answers) -> None:
        """Keep the answers as a template; RefusedInputError if there is nothing to keep."""
        WoundTemplates(self._desk).keep(name, self.name, answers)
