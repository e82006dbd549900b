"""Coming days: what is due on which day of the next two weeks, by whom, in which window."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from textual import on
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList, Static

from fieldnotes.domain.followups import Doer, State
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.records import RecordScreen
from fieldnotes.tui.screens.route import TASK
from fieldnotes.tui.widgets.rows import Row, RowList, fitted, joined

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from textual.app import ComposeResult

    from fieldnotes.casework.views import DueLine

DAYS = 14
WHO = ("vet and owner", "vet", "owner")


class ComingFound(Message):
    """What is due in the coming days."""

    def __init__(self, today: dt.date, lines: tuple[DueLine, ...]) -> None:
        super().__init__()
        self.today = today
        self.lines = lines


class DaysScreen(RecordScreen):
    """Follow-ups by day."""

    NAME = "days"
    HEADING = "Coming days"
    EXPLAINS = (
        "Follow-ups of the coming 14 days, each on the day it is due; what is past due but still "
        "in its window stands on today. 'w' shows the vet's only, the owners' only, or both. The "
        "window is the first and the last day it may be done."
    )

    def __init__(self) -> None:
        super().__init__()
        self._who = 0
        self._found: ComingFound | None = None

    def body(self) -> ComposeResult:
        """Give the list."""
        yield RowList(id="days", classes="panel")

    def on_mount(self) -> None:
        """Take the keys."""
        self.query_one("#days").focus()

    def on_screen_resume(self) -> None:
        """Ask again: something may have been saved."""
        desk = self.desk
        self.ask(lambda: ComingFound(desk.today(), desk.due(days=DAYS)), "coming")

    @on(ComingFound)
    def _keep(self, event: ComingFound) -> None:
        self._found = event
        self._show()

    def _show(self) -> None:
        if self._found is None:
            return
        who, today = WHO[self._who], self._found.today
        lines = [x for x in self._found.lines if who in {WHO[0], x.task.by.value}]
        days = by_day(lines, today)
        self.query_one("#days", RowList).show(lambda w: day_rows(days, today, w))
        self.query_one("#heading", Static).update(lit(f"Coming days   {who}, {DAYS} days"))

    def action_who(self) -> None:
        """Show the vet's, the owners' or both."""
        self._who = (self._who + 1) % len(WHO)
        self._show()

    def chosen_case(self) -> str:
        """Give the case of the row under the cursor."""
        key = self.query_one("#days", RowList).chosen
        return key.removeprefix(TASK).partition(":")[0]

    @on(OptionList.OptionSelected)
    def _row_chosen(self) -> None:
        self.action_open()


def by_day(lines: Iterable[DueLine], today: dt.date) -> Mapping[dt.date, tuple[DueLine, ...]]:
    """Give the lines by the day they are due; overdue ones on the day before today."""
    days: dict[dt.date, list[DueLine]] = {}
    for line in lines:
        overdue = line.state is State.OVERDUE
        day = today - dt.timedelta(days=1) if overdue else max(line.task.due, today)
        if (day - today).days <= DAYS:
            days.setdefault(day, []).append(line)
    return {day: tuple(sorted(days[day], key=_order)) for day in sorted(days)}


def _order(line: DueLine) -> tuple[bool, dt.date, str]:
    return (line.task.by is Doer.OWNER, line.task.latest, line.horse)


def day_rows(
    days: Mapping[dt.date, tuple[DueLine, ...]], today: dt.date, width: int
) -> tuple[Row, ...]:
    """Give every day with what is due on it."""
    rows: list[Row] = []
    for day, lines in days.items():
        rows += [Row(_head(day, lines, today))]
        rows += [
            Row(_line(line, today, width), f"{TASK}{line.task.case}:{line.task.key}")
            for line in lines
        ]
    return tuple(rows) or (Row(Content.styled("Nothing is due in these days.", "$quiet")),)


def _head(day: dt.date, lines: tuple[DueLine, ...], today: dt.date) -> Content:
    vet = sum(line.task.by is Doer.VET for line in lines)
    counts = f"{vet} vet, {len(lines) - vet} owner"
    if day < today:
        return Content.styled(f"! Overdue   {counts}", "bold $overdue")
    name = {0: "Today ", 1: "Tomorrow "}.get((day - today).days, "")
    return Content.styled(f"{name}{day:%a} {day.day} {day:%b}   {counts}", "bold $primary")


def _line(line: DueLine, today: dt.date, width: int) -> Content:
    task = line.task
    window = f"{task.earliest.day} {task.earliest:%b} - {task.latest.day} {task.latest:%b}"
    over = line.state is State.OVERDUE
    if task.appointment is not None:
        window = f"at {task.appointment:%H:%M %d %b}"
    elif over:
        window = f"! {(today - task.latest).days} d over"
    place = 18 if width >= 100 else 0
    room = max(width - 5 - 12 - 16 - 8 - (place + 2 if place else 0), 12)
    parts = [
        fitted(task.by.value, 6, "bold" if task.by is Doer.VET else "$quiet"),
        fitted(line.horse, 12, "bold"),
        fitted(task.what, room),
        fitted(window, 16, "$overdue" if over else "$quiet"),
    ]
    parts += [fitted(line.premises, place, "$quiet")] if place else []
    return joined(parts)
