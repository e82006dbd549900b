"""The table of who does what on which day; nothing in it lies in the past."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.followups import Doer
from fieldnotes.domain.text import clean_line
from fieldnotes.planning.anchors import last_dose
from fieldnotes.rendering.handout.facts import bandage_now, courses_now
from fieldnotes.rendering.handout.sheet import DayRow
from fieldnotes.rendering.handout.wording import (
    amount_text,
    day_text,
    every_days,
    every_hours,
    short_span,
    span_text,
    when_text,
)

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.treatment import DrugDispensed

BELOW = ("skin-below-wound", "skin-below-drain")  # skin a bandage covers between its changes
DRUG_ROUND = "drug-round"  # courses have rows of their own, with the whole dose


def day_rows(
    case: Case, tasks: tuple[FollowUp, ...], today: dt.date, *, ours: bool = True
) -> tuple[DayRow, ...]:
    """Give the rows by day, what is late first; `ours` is false while a hospital decides."""
    rows = [_task_row(case, t, today) for t in tasks if t.rule != DRUG_ROUND]
    if ours:
        rows += [_course_row(d, today) for d in courses_now(case, today)]
    return tuple(sorted(rows, key=lambda r: (r.day, r.who, r.what)))


def _task_row(case: Case, task: FollowUp, today: dt.date) -> DayRow:
    what = clean_line(task.what)
    what = what[:1].upper() + what[1:]
    if len(case.wounds) > 1 and task.wounds:
        what += f" (wound {', '.join(task.wounds)})"
    if _late(task, today):
        return _late_row(task, what, today)
    if task.series:
        what += f", {_often(case, task, task.series.every_days)}"
    elif task.earliest != task.latest and not task.appointment:
        what += f". Any day, {short_span(max(task.earliest, today), task.latest)}"
    day = max(task.due, today)
    return DayRow(day, when_text(task, today), "We" if task.by is Doer.VET else "You", f"{what}.")


def _late(task: FollowUp, today: dt.date) -> bool:
    if task.appointment and task.appointment.date() >= today:
        return False
    return (task.series.until if task.series else task.latest) < today


def _late_row(task: FollowUp, what: str, today: dt.date) -> DayRow:
    """Give a row without its past date: ours is asked for, the owner's is done now."""
    if task.by is Doer.VET:
        return DayRow(today, "overdue: call us for a time", "We", f"{what}.")
    return DayRow(today, f"overdue: today, {day_text(today)}", "You", f"{what}. Not sure? Call us.")


def _often(case: Case, task: FollowUp, every: float) -> str:
    bandaged = any(bandage_now(case, label) for label in task.wounds)
    return "at each bandage change" if task.rule in BELOW and bandaged else every_days(every)


def _course_row(drug: DrugDispensed, today: dt.date) -> DayRow:
    first, last = max(drug.starts.date(), today), last_dose(drug).date()
    what = f"Give {clean_line(drug.name)}: {amount_text(drug)}, {every_hours(drug.interval_h)}."
    return DayRow(first, span_text(first, last), "You", what)
