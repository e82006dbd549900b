"""The import assistant: a file, which column is which field, what would come of it, then write."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.message import Message
from textual.widgets import Input

from fieldnotes.tui.screens.base import DeskScreen
from fieldnotes.tui.widgets.rows import Row, RowList, TextPanel, fitted, joined, wrapped

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from fieldnotes.tui.ports import ImportPlan, Upkeep

TABLES = ("owners", "premises", "horses")
NONE = "-"
NAMES = 12


class Planned(Message):
    """A file was read; nothing is written."""

    def __init__(self, plan: ImportPlan) -> None:
        super().__init__()
        self.plan = plan


class BroughtIn(Message):
    """Everything in the file is in the records."""

    def __init__(self, count: int) -> None:
        super().__init__()
        self.count = count


class ImportScreen(DeskScreen):
    """One file on its way into the records."""

    NAME = "import"
    HEADING = "Import   nothing is written before ^s"
    AUTO_FOCUS: ClassVar[str | None] = "#import-path"
    EXPLAINS = (
        "Type a file and press Enter: a table (.csv, UTF-8) of owners, premises or horses, or "
        "records in our own form (.json, or a folder of them). The list shows which column each "
        "field is read from; left and right choose another. Below stands what would come of it "
        "and what is wrong, with its line. ^s writes all of it or nothing."
    )

    def __init__(self, upkeep: Upkeep) -> None:
        super().__init__()
        self._upkeep = upkeep
        self._plan: ImportPlan | None = None

    def body(self) -> ComposeResult:
        """Give the line for the file, the fields and the report."""
        yield Input(placeholder="file to import, Enter reads it", id="import-path", compact=True)
        yield RowList(id="import-fields", classes="panel")
        yield TextPanel(id="import-report")

    def on_mount(self) -> None:
        """Name the list."""
        self.query_one(RowList).border_title = "Field, and the column it is read from"

    @on(Input.Submitted, "#import-path")
    def _file_named(self, event: Input.Submitted) -> None:
        self._read(event.value, "", {})

    def _read(self, file: str, table: str, mapping: dict[str, str]) -> None:
        upkeep = self._upkeep
        self.say("reading ...")
        self.ask(lambda: Planned(upkeep.plan_import(file, table, mapping)), "plan")

    @on(Planned)
    def _show(self, event: Planned) -> None:
        plan = self._plan = event.plan
        wrong = f", {len(plan.problems)} to put right" if plan.problems else ""
        known = f", {len(plan.known)} known and left out" if plan.known else ""
        words = f"{plan.table or 'entries'}: {plan.count} to write{known}{wrong}"
        self.say(words, "overdue" if plan.problems else "")
        self.query_one(RowList).show(lambda width: _rows(plan, width))
        text = "\n".join((*plan.problems, *plan.known)) or "Nothing is wrong. ^s writes it."
        self.query_one(TextPanel).show(lambda width: wrapped(text, width, hang=2))
        if plan.fields:
            self.query_one(RowList).focus()

    def action_column(self, by: int) -> None:
        """Read the field under the cursor from the next column, or from none."""
        plan, field = self._plan, self.query_one(RowList).chosen
        if plan is None or not field:
            return
        choices = ["", *(h for h in plan.headings if h)]
        now = plan.mapping.get(field, "")
        at = choices.index(now) if now in choices else 0
        mapping = {name: plan.mapping.get(name, "") for name in plan.fields}
        mapping[field] = choices[(at + by) % len(choices)]
        self._read(plan.file, plan.table, mapping)

    def action_table(self) -> None:
        """Read the file as another table."""
        if self._plan is not None and self._plan.table:
            at = TABLES.index(self._plan.table)
            self._read(self._plan.file, TABLES[(at + 1) % len(TABLES)], {})

    def action_write(self) -> None:
        """Write all of it, if nothing is wrong."""
        plan, upkeep, author = self._plan, self._upkeep, self.desk.author()
        if plan is None:
            self.say("! name a file first", "overdue")
        elif plan.problems:
            self.say("! put right what is wrong first; nothing was written", "overdue")
        elif not plan.count:
            self.say("! there is nothing new in this file", "overdue")
        else:
            self.say("writing ...")
            self.ask(lambda: BroughtIn(upkeep.bring_in(plan, author)), "write")

    @on(BroughtIn)
    def _written(self, event: BroughtIn) -> None:
        self._plan = None
        self.say(f"✓ {event.count} entries written", "done")
        self.query_one(RowList).show(lambda _width: ())
        self.query_one(TextPanel).show(lambda width: wrapped("All of it is in the records.", width))
        self.query_one("#import-path", Input).focus()

    def action_leave(self) -> None:
        """Go back."""
        self.dismiss()


def _rows(plan: ImportPlan, width: int) -> tuple[Row, ...]:
    return tuple(
        Row(
            joined(
                (fitted(name, NAMES), fitted(plan.mapping.get(name) or NONE, width - NAMES - 2))
            ),
            name,
        )
        for name in plan.fields
    )
