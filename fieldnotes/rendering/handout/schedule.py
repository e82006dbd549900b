"""The table of who does what on which day; nothing in it lies in the past."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.followups import Doer
from fieldnotes.domain.text import clean_line
from fieldnotes.knowledge.language import ENGLISH
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
    from fieldnotes.knowledge.language import Language

BELOW = ("skin-below-wound", "skin-below-drain")  # skin a bandage covers between its changes
DRUG_ROUND = "drug-round"  # courses have rows of their own, with the whole dose


def day_rows(
    case: Case,
    tasks: tuple[FollowUp, ...],
    today: dt.date,
    *,
    ours: bool = True,
    language: Language = ENGLISH,
) -> tuple[DayRow, ...]:
    """Give the rows by day, what is late first; `ours` is false while a hospital decides."""
    rows = [_task_row(case, t, today, language) for t in tasks if t.rule != DRUG_ROUND]
    if ours:
        rows += [_course_row(d, today, language) for d in courses_now(case, today)]
    return tuple(sorted(rows, key=lambda r: (r.day, r.who, r.what)))


def _task_row(case: Case, task: FollowUp, today: dt.date, language: Language) -> DayRow:
    what = clean_line(task.what)
    what = what[:1].upper() + what[1:]
    if len(case.wounds) > 1 and task.wounds:
        what += language.say(" (wound {labels})", labels=", ".join(task.wounds))
    if _late(task, today):
        return _late_row(task, what, today, language)
    if task.series:
        what += f", {_often(case, task, task.series.every_days, language)}"
    elif task.earliest != task.latest and not task.appointment:
        span = short_span(max(task.earliest, today), task.latest, language)
        what += language.say(". Any day, {span}", span=span)
    day, who = max(task.due, today), "We" if task.by is Doer.VET else "You"
    return DayRow(day, when_text(task, today, language), language.say(who), f"{what}.")


def _late(task: FollowUp, today: dt.date) -> bool:
    if task.appointment and task.appointment.date() >= today:
        return False
    return (task.series.until if task.series else task.latest) < today


def _late_row(task: FollowUp, what: str, today: dt.date, language: Language) -> DayRow:
    """Give a row without its past date: ours is asked for, the owner's is done now."""
    if task.by is Doer.VET:
        when = language.say("overdue: call us for a time")
        return DayRow(today, when, language.say("We"), f"{what}.")
    when = language.say("overdue: today, {day}", day=day_text(today, language))
    what = language.say("{what}. Not sure? Call us.", what=what)
    return DayRow(today, when, language.say("You"), what)


def _often(case: Case, task: FollowUp, every: float, language: Language) -> str:
    bandaged = any(bandage_now(case, label) for label in task.wounds)
    if task.rule in BELOW and bandaged:
        return language.say("at each bandage change")
    return every_days(every, language)


def _course_row(drug: DrugDispensed, today: dt.date, language: Language) -> DayRow:
    first, last = max(drug.starts.date(), today), last_dose(drug).date()
    what = language.say(
        "Give {drug}: {amount}, {often}.",
        drug=clean_line(drug.name),
        amount=amount_text(drug, language),
        often=every_hours(drug.interval_h, language),
    )
    return DayRow(first, span_text(first, last, language), language.say("You"), what)
