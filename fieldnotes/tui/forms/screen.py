"""The screen of every form: pages, the strip with choices and matches, review, save, drafts."""

from __future__ import annotations

from dataclasses import replace
from secrets import token_hex
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.containers import VerticalScroll
from textual.message import Message
from textual.widgets import Static

from fieldnotes.domain.errors import FieldnotesError, Problem, RefusedInputError
from fieldnotes.tui.fields.row import Answered, Entered, FieldRow, Finished
from fieldnotes.tui.forms.aids import FormAids
from fieldnotes.tui.forms.catalogue import opener
from fieldnotes.tui.forms.drafted import drafted
from fieldnotes.tui.forms.form import Outlook
from fieldnotes.tui.forms.page_text import path_words, review_text, strip_text
from fieldnotes.tui.forms.review import KEYS, REVIEW, PageArea
from fieldnotes.tui.forms.rows import fit_rows, next_row
from fieldnotes.tui.forms.side_trips import to_map, to_photograph
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.base import Failed, StatusLine, saved_at

if TYPE_CHECKING:
    from textual import events
    from textual.app import ComposeResult
    from textual.timer import Timer

    from fieldnotes.casework.views import Saved
    from fieldnotes.clinical.tracing import Tracing
    from fieldnotes.tui.forms.form import Form, Pane
    from fieldnotes.tui.ports import Draft

DRAFT_AFTER_S = 0.7


class FormChecked(Message):
    """A form was checked against the records."""

    def __init__(
        self, problems: tuple[Problem, ...], outlook: Outlook | None, *, saving: bool
    ) -> None:
        super().__init__()
        self.problems = problems
        self.outlook = outlook
        self.saving = saving


class FormSaved(Message):
    """The record of a form is on the medium."""

    def __init__(self, saved: Saved, aside: str) -> None:
        super().__init__()
        self.saved = saved
        self.aside = aside


class DraftKept(Message):
    """What was typed is journalled, or could not be."""

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words = words


class FormScreen(FormAids):
    """One form being filled in."""

    NAME = "form"
    AUTO_FOCUS: ClassVar[str | None] = None
    EXPLAINS = (
        "A form in pages. Enter goes to the next field, a letter chooses, Page Down goes to the "
        "next page, ^s checks and saves from anywhere. Everything typed is kept as a draft until "
        "it is saved. Sizes are in cm (8x3), times may be 4h, 14:30, yesterday, fri."
    )

    def __init__(self, form: Form, draft: Draft | None = None) -> None:
        super().__init__()
        self.form = form
        self.answers: dict[str, str] = dict(draft.answers) if draft else {}
        self._draft_id = draft.id if draft else ""
        self._problems: tuple[Problem, ...] = ()
        self._outlook = Outlook()
        self._pane = ""
        self._saving = False
        self._done = False
        self._timer: Timer | None = None
        self.begun: dict[str, Tracing] = {}  # points placed on photographs, by file

    def heading(self) -> str:
        """Give the form's title."""
        return self.form.title

    def body(self) -> ComposeResult:
        """Give the page names, the page, and the strip."""
        yield Static(id="pages")
        yield PageArea(id="pane", can_focus=False)
        yield Static(id="strip")

    async def on_mount(self) -> None:
        """Show the first page."""
        await self.show_page(self.form.panes(self.answers)[0].id)
        self.fieldnotes.free_keys()

    # ----- pages

    def _panes(self) -> tuple[Pane, ...]:
        return self.form.panes(self.answers)

    def _ids(self) -> list[str]:
        return [p.id for p in self._panes()] + [REVIEW]

    async def show_page(self, pane_id: str, key: str = "") -> None:
        """Show a page with the answers as they are, the focus on one field or the first."""
        self._pane = pane_id
        area = self.query_one("#pane", VerticalScroll)
        await area.remove_children()
        if pane_id == REVIEW:
            await area.mount(Static(lit(self._review()), id="review"))
            area.can_focus = True
            area.focus()
            self.query_one("#strip", Static).update(lit(KEYS))
        else:
            area.can_focus = False
            pane = next(p for p in self._panes() if p.id == pane_id)
            rows = [FieldRow(f, self.answers.get(f.key)) for f in pane.fields]
            await area.mount(*rows)
            self._tell_problems()
            wanted = next((r for r in rows if r.field.answers_for(key)), rows[0])
            wanted.editor.focus()
        self._show_pages()

    def _show_pages(self) -> None:
        panes = [(p.id, p.title) for p in self._panes()] + [(REVIEW, "Review")]
        words = [f"[{title}]" if i == self._pane else f" {title} " for i, title in panes]
        at = [i for i, _ in panes].index(self._pane)
        room = max(20, self.size.width - 4)
        while len("".join(words)) > room and len(words) > 3:
            drop = 0 if at > len(words) // 2 else len(words) - 1
            words.pop(drop)
            at -= drop == 0
        self.query_one("#pages", Static).update(lit("".join(words)))

    def on_resize(self) -> None:
        """Fit the page names; the fields stay as they are."""
        if self._pane:
            self._show_pages()

    async def action_page(self, by: int) -> None:
        """Go to another page."""
        ids = self._ids()
        at = ids.index(self._pane) if self._pane in ids else 0
        target = ids[max(0, min(len(ids) - 1, at + by))]
        if target == REVIEW:
            self.action_review()
        elif target != self._pane:
            await self.show_page(target)

    def action_review(self) -> None:
        """Check everything and show it."""
        self._check(saving=False)

    def on_key(self, event: events.Key) -> None:
        """Keep letters and digits in the form: none of them leaves it or goes elsewhere."""
        if (event.character or "").isalnum():
            event.stop()

    async def key_enter(self, event: events.Key) -> None:
        """Go from the review to the first problem."""
        if self._pane == REVIEW and self._problems:
            event.stop()
            event.prevent_default()
            await self._go_to(self._problems[0])

    def _review(self) -> str:
        cautions = (*self.unconfirmed(), *self._outlook.cautions)
        outlook = replace(self._outlook, cautions=tuple(map(self._placed, cautions)))
        problems = tuple(self._placed(p) for p in self._problems)
        width = max(30, self.size.width - 6)
        return review_text(problems, outlook, self.form.summary(self.answers), width)

    def _placed(self, problem: Problem) -> Problem:
        return replace(problem, field=self._where(problem))

    def _where(self, problem: Problem) -> str:
        for pane in self._panes():
            for field in pane.fields:
                if field.answers_for(problem.field):
                    return f"{pane.title}, {field.label}"
        return path_words(problem.field)

    # ----- fields

    @on(Answered)
    async def _answered(self, event: Answered) -> None:
        if self.answers.get(event.key) != event.answer:
            self.remember(event.key)
            self.confirm(event.key)
        self.answers[event.key] = event.answer
        await self._fit_rows()
        self._show_pages()
        for row in self.query(FieldRow):
            if row.field.key == event.key and row.has_focus_within:
                self.query_one("#strip", Static).update(
                    lit(strip_text(row, self._room(), self.size.width))
                )
        self.answers_changed()

    def answers_changed(self) -> None:
        """Journal the draft soon."""
        if self._timer is None:
            self._timer = self.set_timer(DRAFT_AFTER_S, self._keep)

    async def _fit_rows(self) -> None:
        pane = next((p for p in self._panes() if p.id == self._pane), None)
        if pane is not None:
            await fit_rows(self.query_one("#pane", VerticalScroll), pane.fields, self.answers)

    @on(Finished)
    async def _finished(self, event: Finished) -> None:
        rows = list(self.query(FieldRow))
        at = next_row(rows, event.step)
        if event.step > 0 and 0 < at <= len(rows):
            self.confirm(rows[at - 1].field.key)
        if at >= len(rows):
            await self.action_page(1)
        elif at >= 0:
            rows[at].editor.focus()

    @on(Entered)
    def _entered(self, event: Entered) -> None:
        self.query_one("#strip", Static).update(
            lit(strip_text(event.row, self._room(), self.size.width))
        )

    def _room(self) -> int:
        return max(1, self.query_one("#strip", Static).size.height or 4)

    def _tell_problems(self) -> None:
        for row in self.query(FieldRow):
            said = self._said_of(row, self._outlook.cautions)
            row.caution = "; ".join(filter(None, (self.mark_on(row), said)))
            row.tell(self._said_of(row, self._problems))

    def _said_of(self, row: FieldRow, found: tuple[Problem, ...]) -> str:
        return "; ".join(p.message for p in found if row.field.answers_for(p.field))

    async def action_map(self) -> None:
        """Choose the region on the body map, where the page has one."""
        await to_map(self)

    def action_measure(self) -> None:
        """Measure the wound on a photograph named on the page."""
        to_photograph(self)

    def action_instead(self) -> None:
        """Go to the form that may be the one wanted; what was typed stays as a draft."""
        other = self.form.instead(dict(self.answers))
        if other is None:
            self.say("there is no open case to recheck")
            return
        self._journal()
        self.app.switch_screen(FormScreen(opener(other[0])(self.desk, other[1])))

    # ----- saving

    def action_save(self) -> None:
        """Check everything; save if nothing is wrong."""
        if not self._saving:
            self._check(saving=True)

    def _check(self, *, saving: bool) -> None:
        answers, form = dict(self.answers), self.form

        def check() -> Message:
            problems = form.problems(answers)
            outlook = None if saving else form.outlook(answers)
            return FormChecked(problems, outlook, saving=saving)

        self.ask(check, "check")

    @on(FormChecked)
    async def _checked(self, event: FormChecked) -> None:
        self._problems = event.problems
        self._outlook = event.outlook or self._outlook
        if not event.saving:
            await self.show_page(REVIEW)
        elif event.problems:
            await self._go_to(event.problems[0])
            more = (
                f" (and {len(event.problems) - 1} more; F4 lists them)"
                if len(event.problems) > 1
                else ""
            )
            self.say(
                f"! {self._where(event.problems[0])}: {event.problems[0].message}{more}", "overdue"
            )
        else:
            self._saving = True
            self.say("saving ...")
            self._write()

    def _write(self) -> None:
        answers, form = dict(self.answers), self.form

        def write() -> Message:
            aside = form.aside(answers)
            return FormSaved(form.save(answers), aside)

        self.ask(write, "save")

    async def _go_to(self, problem: Problem) -> None:
        for pane in self._panes():
            if any(f.answers_for(problem.field) for f in pane.fields):
                await self.show_page(pane.id, problem.field)
                return
        await self.show_page(REVIEW)

    @on(Failed)
    async def _not_saved(self, event: Failed) -> None:
        self._saving = False
        if isinstance(event.error, RefusedInputError):
            self._problems = (Problem(event.error.field, event.error.reason),)
            await self._go_to(self._problems[0])
        self._keep()

    @on(FormSaved)
    def _saved(self, event: FormSaved) -> None:
        self._done = True
        if self._timer is not None:
            self._timer.stop()
            self._timer = None
        if self._draft_id:
            self.fieldnotes.discard_draft(self._draft_id)
        words = saved_at(self.fieldnotes.moment())
        words = f"{words}; {event.aside}" if event.aside else words
        self.fieldnotes.form_saved(self.form, event.saved, words)

    # ----- drafts

    def _keep(self) -> None:
        """Journal what was typed, in a thread."""
        self._timer = None
        self.run_worker(self._journal, group="draft", exclusive=True, thread=True)

    def _journal(self) -> None:
        answers = {} if self._done else drafted(self.form, dict(self.answers))
        if not answers:
            return
        now = self.fieldnotes.moment()
        name = self.form.name.replace("_", "-")
        self._draft_id = self._draft_id or f"{name}-{now:%Y%m%d-%H%M%S}-{token_hex(2)}"
        draft = (self._draft_id, self.form.name, self.form.case, self.form.title, now.isoformat())
        try:
            self.fieldnotes.keep_draft(draft, answers)
        except FieldnotesError as error:
            self.post_message(DraftKept(f"! draft not kept: {error}"))
        else:
            self.post_message(DraftKept(f"draft kept {now:%H:%M}"))

    @on(DraftKept)
    def _tell_kept(self, event: DraftKept) -> None:
        status = self.query_one("#status", StatusLine)
        if "done" in status.classes and not event.words.startswith("!"):
            status.set_classes("")  # what was put in is told until the next draft
        elif not self._saving and "overdue" not in status.classes:
            self.say(event.words)

    def action_leave(self) -> None:
        """Leave; the draft stays."""
        self._journal()
        self.dismiss()

    def on_unmount(self) -> None:
        """Keep what was typed, whatever ends the screen."""
        if self._timer is not None:
            self._journal()
