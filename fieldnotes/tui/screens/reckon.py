"""The calculators over a form or a case: fields above, the result with its working below."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual import on
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from fieldnotes.tui.commands import bindings
from fieldnotes.tui.fields.row import Answered, Entered, FieldRow, Finished
from fieldnotes.tui.forms.page_text import hung, strip_text
from fieldnotes.tui.forms.reckon_page import Reckoned, work_out
from fieldnotes.tui.forms.reckoning import PAGES
from fieldnotes.tui.forms.rows import fit_rows, next_row
from fieldnotes.tui.literal import lit
from fieldnotes.tui.widgets.key_line import KeyLine

if TYPE_CHECKING:
    from textual import events
    from textual.app import ComposeResult
    from textual.binding import Binding

    from fieldnotes.domain.errors import Problem
    from fieldnotes.tui.forms.reckon_page import Bench, Page, Worked

EXPLAINS = (
    "The calculators, a page each; what the case knows is filled in already and may be changed. "
    "Below stand the result, its formula and source, and what to be careful of. Enter goes from "
    "field to field, then into the result, where the arrows scroll. ^s puts the result into the "
    "visit: into its fields where it has some, and with its working into the note. Over a limit "
    "or outside a published range that needs a reason. Nothing is put in by itself, and what was "
    "typed stays until the form or the case is left."
)
ALONE = "opened without a visit: there is no note to put it into"


class ReckonScreen(ModalScreen[Reckoned | None]):
    """Gives the result to put in, None if there is none; `kept` holds the answers of each page."""

    BINDINGS: ClassVar[list[Binding | tuple[str, str] | tuple[str, str, str]]] = cast(
        "list[Binding | tuple[str, str] | tuple[str, str, str]]", bindings("reckon")
    )
    AUTO_FOCUS: ClassVar[str | None] = None

    def __init__(self, bench: Bench, kept: dict[str, dict[str, str]]) -> None:
        super().__init__()
        self._bench = bench
        self._kept = kept
        self._at = next((n for n, p in enumerate(PAGES) if p.id == bench.page), 0)

    @property
    def page(self) -> Page:
        """The calculator in front."""
        return PAGES[self._at]

    @property
    def answers(self) -> dict[str, str]:
        """What was typed on it."""
        return self._kept.setdefault(self.page.id, {})

    def compose(self) -> ComposeResult:
        """Lay out page names, fields, strip, result and keys."""
        with Vertical(id="reckon"):
            yield Static(id="pages")
            yield VerticalScroll(id="pane", can_focus=False)
            yield Static(id="strip")
            with VerticalScroll(id="result"):
                yield Static(id="reckoned")
            yield Static(id="status")
        yield KeyLine(palette=False)

    async def on_mount(self) -> None:
        """Show the first page."""
        await self._open()

    async def _open(self) -> None:
        names = (f"[{p.title}]" if p is self.page else f" {p.title} " for p in PAGES)
        horse = self._bench.patient.horse
        whose = horse.name if horse else "no animal chosen"
        self.query_one("#pages", Static).update(lit(f"{''.join(names)}   {whose}"))
        area = self.query_one("#pane", VerticalScroll)
        await area.remove_children()
        fields = self.page.fields(self._bench, self.answers)
        await area.mount(*(FieldRow(f, self.answers.get(f.key)) for f in fields))
        rows = list(self.query(FieldRow))
        empty = (r for r in rows if not r.answer.strip())
        next(empty, rows[0]).editor.focus()
        self._say("" if self._bench.answers is not None else ALONE)
        self._reckon()

    def _worked(self) -> Worked:
        return work_out(self.page, self._bench, self.answers)

    def _reckon(self) -> None:
        """Show the result; a field not filled in yet is asked for, not marked wrong."""
        worked = self._worked()
        lines = worked.reckoned.lines if worked.reckoned else ()
        rows = list(self.query(FieldRow))
        for row in rows:
            said = [p.message for p in worked.problems if row.field.answers_for(p.field)]
            row.tell("; ".join(said) if row.answer.strip() else "")
        told = [r.field for r in rows if r.fault]
        asked = tuple(
            f"? {self._label(p.field)}: {p.message}"
            for p in worked.problems
            if not any(f.answers_for(p.field) for f in told)
        )
        rows_of = (hung(line, max(30, self.size.width - 4)) for line in (*asked, *lines))
        self.query_one("#reckoned", Static).update(
            lit("\n".join(r for some in rows_of for r in some))
        )

    def on_resize(self) -> None:
        """Fit the result to the new width."""
        if self.query(FieldRow):
            self._reckon()

    def _label(self, key: str) -> str:
        row = next((r for r in self.query(FieldRow) if r.field.answers_for(key)), None)
        return row.field.label if row else key

    def _say(self, words: str) -> None:
        self.query_one("#status", Static).update(lit(words))

    @on(Answered)
    async def _answered(self, event: Answered) -> None:
        event.stop()
        self.answers[event.key] = event.answer
        fields = self.page.fields(self._bench, self.answers)
        await fit_rows(self.query_one("#pane", VerticalScroll), fields, self.answers)
        self._reckon()
        row = next((r for r in self.query(FieldRow) if r.has_focus_within), None)
        if row is not None:
            self._show_strip(row)

    @on(Entered)
    def _entered(self, event: Entered) -> None:
        event.stop()
        self._reckon()  # leaving a field read it alone; what the calculation says stands again
        self._show_strip(event.row)

    def _show_strip(self, row: FieldRow) -> None:
        strip = self.query_one("#strip", Static)
        strip.update(lit(strip_text(row, max(1, strip.size.height or 3), self.size.width)))

    @on(Finished)
    def _finished(self, event: Finished) -> None:
        event.stop()
        rows = list(self.query(FieldRow))
        at = next_row(rows, event.step)
        if at >= len(rows):
            self.query_one("#result").focus()
        elif at >= 0:
            rows[at].editor.focus()

    def on_key(self, event: events.Key) -> None:
        """Keep letters and digits here."""
        if (event.character or "").isalnum():
            event.stop()

    async def action_page(self, by: int) -> None:
        """Go to another calculator, round and round."""
        self._at = (self._at + by) % len(PAGES)
        await self._open()

    def action_put(self) -> None:
        """Give the result to the form, unless something is missing, wrong or needs a reason."""
        worked = self._worked()
        if worked.problems or worked.reckoned is None:
            self._point_at(worked.problems[0])
        elif self._bench.answers is None:
            self._say(ALONE)
        else:
            del self._kept[self.page.id]
            self.dismiss(worked.reckoned)

    def _point_at(self, problem: Problem) -> None:
        self._say(f"! {self._label(problem.field)}: {problem.message}")
        for row in self.query(FieldRow):
            if row.field.answers_for(problem.field):
                row.editor.focus()
                row.tell(problem.message)
                return

    def action_explain(self) -> None:
        """List the keys."""
        from fieldnotes.tui.screens.help import HelpScreen  # noqa: PLC0415  (seldom needed)

        self.app.push_screen(HelpScreen("reckon", EXPLAINS))

    def action_back(self) -> None:
        """Leave with nothing put in."""
        self.dismiss(None)
