"""The first run, page by page; what was typed and where it was left is kept on disk."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from fieldnotes.domain.errors import FieldnotesError
from fieldnotes.tui.fields.row import Answered, Entered, FieldRow, Finished
from fieldnotes.tui.first_run import DRAFT
from fieldnotes.tui.forms.assistant import FORM, PAGE, Assistant
from fieldnotes.tui.forms.page_text import strip_text
from fieldnotes.tui.forms.rows import fit_rows, next_row
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.base import DeskScreen

if TYPE_CHECKING:
    from collections.abc import Mapping

    from textual import events
    from textual.app import ComposeResult
    from textual.timer import Timer

    from fieldnotes.domain.errors import Problem
    from fieldnotes.domain.patients import Practice

KEPT_AFTER_S = 0.5


class PageOfFields(VerticalScroll, inherit_bindings=False):
    """Scrolls to the field at hand; Page Up and Page Down are left to the screen."""


KEYS = {
    "import": (("i", "choose a file, see what would come of it"), ("Enter", "go on without")),
    "ready": (
        ("Enter", "open the day"),
        ("", "there O, P, N add owner, place, horse; n starts a first visit"),
    ),
}
LINE = " ── "


class PracticeKept(Message):
    """Practice and people are in the register."""


class AssistantScreen(DeskScreen):
    """One page at a time: the steps on top, the fields, and what the field at hand wants."""

    NAME = "assistant"
    AUTO_FOCUS: ClassVar[str | None] = ""
    EXPLAINS = (
        "Sets a new practice up in a few short pages. Enter goes to the next field and from the "
        "last one to the next page; Page Up and Page Down go back and on. Everything typed is "
        "kept: leave at any time, and the next start goes on at the same page."
    )

    def __init__(
        self, zone: str, answers: Mapping[str, str] | None = None, known: Practice | None = None
    ) -> None:
        super().__init__()
        self._assistant = Assistant(zone, known)
        self.answers = dict(answers or {})
        self._at = self._assistant.at(self.answers.get(PAGE, ""))
        self._timer: Timer | None = None
        self._done = False

    def heading(self) -> str:
        """Give the title."""
        return "fieldnotes   setting up"

    def body(self) -> ComposeResult:
        """Give steps, title, fields and the strip."""
        yield Static(id="steps")
        yield Static(id="step-title")
        yield Static(id="step-says")
        yield PageOfFields(id="step", can_focus=False)
        yield Static(id="strip")

    async def on_mount(self) -> None:
        """Show the page that was left."""
        await self._show(self._at)

    # ----- pages

    @property
    def _step_id(self) -> str:
        return self._assistant.steps[self._at].id

    async def _show(self, at: int, problems: tuple[Problem, ...] = ()) -> None:
        self._at = at
        step, fields = self._assistant.steps[at], self._assistant.fields(at, self.answers)
        self.query_one("#steps", Static).update(self._steps())
        self.query_one("#step-title", Static).update(lit(step.title))
        self.query_one("#step-says", Static).update(lit(step.says))
        area = self.query_one("#step", VerticalScroll)
        await area.remove_children()
        strip = self.query_one("#strip", Static)
        strip.update("")
        strip.display = bool(fields)
        if not fields:
            await area.mount(Static(self._words(), classes="step-words"))
            self.set_focus(None)
            return
        await area.mount(*(FieldRow(f, self.answers.get(f.key)) for f in fields))
        self._tell(problems)

    def _tell(self, problems: tuple[Problem, ...]) -> None:
        """Say what is wrong at its field, and go to the first of them, or to the first field."""
        wrong = None
        for row in self.query(FieldRow):
            said = "; ".join(p.message for p in problems if row.field.answers_for(p.field))
            row.tell(said)
            wrong = wrong or (row if said else None)
        (wrong or self.query(FieldRow).first()).editor.focus()

    def _steps(self) -> Content:
        parts: list[Content] = []
        for n, step in enumerate(self._assistant.steps):
            sign, style = (
                ("✓", "$done") if n < self._at else ("●", "bold $primary") if n == self._at
                else ("○", "$quiet")
            )  # fmt: skip
            parts.append(Content.styled(f"{sign} {step.word}", style))
        return Content.styled(LINE, "$quiet").join(parts)

    def _words(self) -> Content:
        lines: list[Content] = []
        if self._step_id == "ready":
            rows = self._assistant.closing(self.answers)
            wide = max(24, self.size.width - 50) if self.size.width < 110 else 56
            for name, value, key in rows:
                said = value if len(value) <= wide else f"{value[: wide - 1]}…"
                lines.append(
                    Content.assemble(
                        (f"{name:<10}", "$quiet"), f"{said:<{wide}}  ", (key, "$primary")
                    )
                )
            lines.append(Content(""))
        for key, what in KEYS[self._step_id]:
            lines.append(Content.assemble((f"{key:<7}", "bold $primary"), what))
        return Content("\n").join(lines)

    # ----- keys

    def on_key(self, event: events.Key) -> None:
        """Keep letters and digits on a page of fields."""
        if (event.character or "").isalnum() and self._assistant.fields(self._at, self.answers):
            event.stop()

    async def key_enter(self) -> None:
        """Go on from a page without fields."""
        if not self.query(FieldRow):
            await self.action_next()

    async def action_next(self) -> None:
        """Go on, if nothing on this page is wrong; after the mail all of it is kept."""
        today = self.fieldnotes.moment().date()
        problems = self._assistant.problems(self._at, self.answers, today)
        if problems:
            self._tell(problems)
            where = {f.key: f.label.strip() for f in self._assistant.fields(self._at, self.answers)}
            first = problems[0]
            self.say(f"! {where.get(first.field, '')}: {first.message}", "overdue")
        elif self._step_id == "ready":
            self._finish()
        elif self._step_id == "mail":
            await self._keep_practice()
        else:
            await self._turn(self._at + 1)

    async def _keep_practice(self) -> None:
        today = self.fieldnotes.moment().date()
        wrong = self._assistant.first_wrong(self.answers, today)
        if wrong is not None:
            await self._show(wrong, self._assistant.problems(wrong, self.answers, today))
            return
        founding, desk = self._assistant.founding(self.answers), self.desk

        def keep() -> Message:
            founding.save(desk)
            return PracticeKept()

        self.ask(keep, "keep")

    @on(PracticeKept)
    async def _kept(self) -> None:
        await self._turn(self._at + 1)
        self.say("✓ practice and people are in the records", "done")

    async def action_back(self) -> None:
        """Go back a page; nothing typed is lost."""
        if self._at > 0:
            await self._turn(self._at - 1)

    async def _turn(self, at: int) -> None:
        self.fieldnotes.hold_keys()  # what is typed ahead is for the page to come
        await self._show(at)
        self.app.call_later(self.fieldnotes.free_keys)  # after the focus, which is put off as well
        self.say("")
        self.answers[PAGE] = self._step_id
        self._journal_soon(now=True)

    def action_bring_in(self) -> None:
        """Open the import, from its page."""
        from fieldnotes.tui.screens.importing import ImportScreen  # noqa: PLC0415  (seldom needed)

        upkeep = self.fieldnotes.upkeep
        if self._step_id == "import" and upkeep is not None:
            self.app.push_screen(ImportScreen(upkeep))

    def action_leave(self) -> None:
        """Leave for now; the next start goes on here."""
        self._journal()
        self.fieldnotes.first_run.leave()

    def _finish(self) -> None:
        self._done = True
        self.fieldnotes.discard_draft(DRAFT)
        self.fieldnotes.first_run.leave()

    # ----- fields

    @on(Answered)
    async def _answered(self, event: Answered) -> None:
        self.answers[event.key] = event.answer
        fields = self._assistant.fields(self._at, self.answers)
        await fit_rows(self.query_one("#step", VerticalScroll), fields, self.answers)
        self._journal_soon()

    @on(Finished)
    async def _finished(self, event: Finished) -> None:
        rows = list(self.query(FieldRow))
        at = next_row(rows, event.step)
        if at >= len(rows):
            await self.action_next()
        elif at >= 0:
            rows[at].editor.focus()

    @on(Entered)
    def _entered(self, event: Entered) -> None:
        strip = self.query_one("#strip", Static)
        strip.update(lit(strip_text(event.row, max(1, strip.size.height), self.size.width)))

    # ----- the draft

    def _journal_soon(self, *, now: bool = False) -> None:
        if self._timer is not None:
            self._timer.stop()
        self._timer = None if now else self.set_timer(KEPT_AFTER_S, self._journal_soon_now)
        if now:
            self.run_worker(self._journal, group="draft", exclusive=True, thread=True)

    def _journal_soon_now(self) -> None:
        self._journal_soon(now=True)

    def _journal(self) -> None:
        if self._done or not self.answers:
            return
        now = self.fieldnotes.moment().isoformat()
        try:
            self.fieldnotes.keep_draft(
                (DRAFT, FORM, "", "Setting up", now), {**self.answers, PAGE: self._step_id}
            )
        except FieldnotesError as error:
            self.log(str(error))

    def on_unmount(self) -> None:
        """Keep what was typed, whatever ends the screen."""
        if self._timer is not None:
            self._journal()
