"""The case list: every case, narrowed by words; the way to a new one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on
from textual.message import Message
from textual.widgets import DataTable, Input, Static

from fieldnotes.tui.literal import cell, lit
from fieldnotes.tui.screens.records import RecordScreen

if TYPE_CHECKING:
    from rich.text import Text
    from textual.app import ComposeResult

    from fieldnotes.casework.views import CaseSummary
    from fieldnotes.knowledge.regions import Regions

COLUMNS = (("Horse", 11), ("Owner", 12), ("Injured", 7), ("Status", 7), ("Wounds", 23), ("Case", 5))
WIDER = {"Horse": 16, "Owner": 20, "Status": 10, "Wounds": 47}
WIDE = 110
SLICE = 100
"""Rows added at a time: more than the tallest screen has, and few enough not to be felt."""


class CasesFound(Message):
    """The cases that fit what was searched."""

    def __init__(self, cases: tuple[CaseSummary, ...], regions: Regions) -> None:
        super().__init__()
        self.cases = cases
        self.refs = frozenset(case.ref for case in cases)
        self.regions = regions


class CasesScreen(RecordScreen):
    """The list of cases."""

    NAME = "cases"
    HEADING = "Cases"
    AUTO_FOCUS = "#cases"
    EXPLAINS = (
        "Cases, newest injury first. Open cases are shown; 'a' shows all. Search words may be "
        "part of a horse, an owner, a place or a region."
    )

    def __init__(self) -> None:
        super().__init__()
        self._status = "open"
        self._found: CasesFound | None = None
        self._wide = False

    def body(self) -> ComposeResult:
        """Give the search line and the table."""
        yield Input(placeholder="search horse, owner, place, region", id="search", compact=True)
        yield DataTable(id="cases", cursor_type="row", zebra_stripes=False)

    def on_mount(self) -> None:
        """Set the columns up and ask for the cases and the drafts."""
        self._lay_out()
        self.query_one(DataTable).focus()

    def _lay_out(self) -> None:
        """Give the columns the widths that suit the terminal's."""
        table, self._wide = self.query_one(DataTable), self.app.size.width >= WIDE
        table.clear(columns=True)
        for name, width in COLUMNS:
            table.add_column(name, width=WIDER.get(name, width) if self._wide else width, key=name)

    def on_resize(self) -> None:
        """Lay the columns out anew when the terminal becomes wide or narrow."""
        if self._wide != (self.app.size.width >= WIDE):
            at = self.chosen_case()
            self._lay_out()
            self._fill(at)

    def on_screen_resume(self) -> None:
        """Ask again: something may have been saved."""
        self._find()
        self.look_for_drafts()

    def _find(self) -> None:
        text, status = self.query_one("#search", Input).value, self._status
        desk = self.desk
        self.ask(
            lambda: CasesFound(desk.find_cases(text, status=status), desk.knowledge.regions), "find"
        )

    @on(CasesFound)
    def _show(self, event: CasesFound) -> None:
        self._found = event
        at = self.chosen_case()
        self.query_one(DataTable).clear()
        self._fill(at)
        number = len(event.cases)
        kind = ("open " if self._status else "") + ("case" if number == 1 else "cases")
        self.query_one("#heading", Static).update(lit(f"Cases   {number} {kind}"))

    def _fill(self, at: str) -> None:
        """Add rows until the one that was chosen is there."""
        table, found = self.query_one(DataTable), self._found
        self._add_rows()
        while found is not None and at in found.refs and at not in table.rows:
            self._add_rows()
        if at in table.rows:
            table.move_cursor(row=table.get_row_index(at))

    def _add_rows(self) -> None:
        """Add the next rows found: thousands at once would hold every key up."""
        table, found = self.query_one(DataTable), self._found
        if found is not None:
            begin = table.row_count
            for case in found.cases[begin : begin + SLICE]:
                table.add_row(*_row(case, found.regions), key=case.ref)

    @on(DataTable.RowHighlighted, "#cases")
    def _near_the_end(self, event: DataTable.RowHighlighted) -> None:
        if event.cursor_row >= event.data_table.row_count - SLICE // 2:
            self._add_rows()

    @on(Input.Changed, "#search")
    def _searched(self) -> None:
        self._find()

    @on(Input.Submitted, "#search")
    def _search_done(self) -> None:
        self.query_one(DataTable).focus()

    @on(DataTable.RowSelected)
    def _row_chosen(self) -> None:
        self.action_open()

    def chosen_case(self) -> str:
        """Give the case under the cursor."""
        table = self.query_one(DataTable)
        if not table.row_count:
            return ""
        return table.coordinate_to_cell_key(table.cursor_coordinate).row_key.value or ""

    def action_search(self) -> None:
        """Go to the search line."""
        self.query_one("#search", Input).focus()

    def action_status(self) -> None:
        """Show open cases, or all."""
        self._status = "" if self._status else "open"
        self._find()


def _row(case: CaseSummary, regions: Regions) -> tuple[Text, ...]:
    line = case.line
    places = [
        f"{w.label} {regions.get(w.region).standard_name if w.region in regions else w.region}"
        for w in line.wounds
    ]
    status = "on hold" if line.on_hold else line.status.value
    return (
        cell(case.horse),
        cell(case.owner),
        cell(f"{line.injured_at:%d %b}"),
        cell(status),
        cell("; ".join(places)),
        cell(case.ref),
    )
