"""Aids of a form being filled in: filled at once, marks until confirmed, undo, templates."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.errors import FieldnotesError, Problem
from fieldnotes.tui.fields.row import FieldRow
from fieldnotes.tui.forms.filling import MARK, marks_of
from fieldnotes.tui.forms.form_reckoner import FormReckoner
from fieldnotes.tui.forms.review import FIRST_A_PAGE, REVIEW

if TYPE_CHECKING:
    from fieldnotes.tui.forms.filling import Offer
    from fieldnotes.tui.forms.form import Form, Pane

MOST_UNDONE = 200
NOT_HERE = "only a first visit or a recheck is filled in at once"


class FormAids(FormReckoner):
    """What helps to fill in a form; the screen of the form adds pages, saving and drafts."""

    form: Form
    answers: dict[str, str]
    _pane: str

    def __init__(self) -> None:
        super().__init__()
        self._past: list[tuple[str, dict[str, str]]] = []

    async def show_page(self, pane_id: str, key: str = "") -> None:
        """Show a page anew with the answers as they are now."""
        raise NotImplementedError

    def page_of(self, key: str) -> Pane | None:
        """Give the page a field is on."""
        panes = self.form.panes(self.answers)
        return next((p for p in panes for f in p.fields if f.key == key), None)

    # ----- undo

    def remember(self, key: str) -> None:
        """Keep the answers as they were before a field changes; typing on is one step."""
        if not self._past or self._past[-1][0] != key:
            self._past.append((key, dict(self.answers)))
            del self._past[:-MOST_UNDONE]

    async def action_undo(self) -> None:
        """Take back the last change; not from the review, where it could not be seen."""
        if self._pane == REVIEW:
            self.say(FIRST_A_PAGE)
            return
        if not self._past:
            self.say("nothing to take back")
            return
        key, before = self._past.pop()
        self.answers.clear()
        self.answers.update(before)
        page = self.page_of(key)
        await self.show_page(page.id if page else self._pane, key)
        field = next((f for f in page.fields if f.key == key), None) if page else None
        self.say(f"taken back: {field.label if field else 'what was filled in'}")

    # ----- marks

    def mark_on(self, row: FieldRow) -> str:
        """Give what a field's answer is marked with; empty once the vet confirmed it."""
        mark = self.answers.get(MARK + row.field.key, "")
        return f"{mark}: right?" if mark else ""

    def confirm(self, key: str) -> None:
        """Take the mark off a field the vet changed or went on from."""
        if self.answers.pop(MARK + key, ""):
            for row in self.query(FieldRow):
                if row.field.key == key:
                    row.caution = ""
                    row.tell("")

    def unconfirmed(self) -> tuple[Problem, ...]:
        """Give the answers still marked, each under its field."""
        marks = marks_of(self.answers)
        fields = (f.key for p in self.form.panes(self.answers) for f in p.fields)
        return tuple(Problem(key, f"{marks[key]}: not confirmed") for key in fields if key in marks)

    # ----- filling in

    def action_fill(self) -> None:
        """Say it in one line, copy forward, or take a template."""
        from fieldnotes.tui.screens.fill import FillScreen  # noqa: PLC0415  (seldom needed)

        pane = self._pane
        if not self.form.fills:
            self.say(NOT_HERE)
            return

        def hear(text: str, width: int) -> tuple[tuple[str, ...], Offer | None]:
            return self.form.hear(text, dict(self.answers), pane, width)

        self.app.push_screen(FillScreen(hear, self.form.shelf()), self._take)

    async def _take(self, offer: Offer | None) -> None:
        if offer is None:
            return
        self._past.append(("", dict(self.answers)))
        for key, answer in offer.answers:
            self.answers[key] = answer
            if not key.startswith(MARK) and offer.mark:
                self.answers[MARK + key] = offer.mark
        await self.show_page(self._pane)
        self.answers_changed()
        left = f"; not taken: {'; '.join(offer.kept)}" if offer.kept else ""
        count = sum(not key.startswith(MARK) for key, _ in offer.answers)
        self.say(f"✓ {count} answers filled in, ^z takes them back{left}", "done")

    def answers_changed(self) -> None:
        """Journal the draft soon."""
        raise NotImplementedError

    def action_keep_template(self) -> None:
        """Keep the form as a template of the practice, under a name."""
        from fieldnotes.tui.screens.fill import NameScreen  # noqa: PLC0415  (seldom needed)

        if not self.form.fills:
            self.say(NOT_HERE)
            return
        what = "Template's name (nothing of this horse, its side or this day is kept):"
        fault = self.form.shelf().name_fault
        self.app.push_screen(NameScreen(what, lambda name: fault(name, "")), self._keep_template)

    def _keep_template(self, name: str | None) -> None:
        if name is None:
            return
        try:
            self.form.keep_template(name, dict(self.answers))
        except FieldnotesError as error:
            self.say(f"! {error}", "overdue")
        else:
            self.say(f"✓ template '{name}' kept; F8 offers it", "done")
