"""Tetanus after a wound: toxoid, antitoxin and the window of the next dose."""

from __future__ import annotations

import calendar
import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    from fieldnotes.knowledge.tetanus import Interval, TetanusTable

Span = tuple[dt.date, dt.date]


@dataclass(frozen=True)
class TetanusDecision:
    """What to give; `next_dose` and `antitoxin_cover` are windows, None where there is none."""

    toxoid: bool
    antitoxin_units: int | None
    next_dose: Span | None
    antitoxin_cover: Span | None
    antitoxin_repeat: dt.date | None
    why: str
    source: str


def add_months(day: dt.date, months: int) -> dt.date:
    """Give the same day `months` calendar months on, clamped to the month's end."""
    month = day.month - 1 + months
    year, month = day.year + month // 12, month % 12 + 1
    return dt.date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


def _span(start: dt.date, days: tuple[int, int]) -> Span:
    return start + dt.timedelta(days=days[0]), start + dt.timedelta(days=days[1])


def _interval(table: TetanusTable, months: int) -> Interval:
    for interval in table.intervals:
        if interval.months == months:
            return interval
    known = " or ".join(str(i.months) for i in table.intervals)
    raise RefusedInputError("rule-months", f"{months} is no published interval ({known})")


def _unvaccinated(table: TetanusTable, wounded: dt.date, known: str) -> TetanusDecision:
    return TetanusDecision(
        toxoid=True,
        antitoxin_units=table.antitoxin_units,
        next_dose=_span(wounded, table.next_dose_days),
        antitoxin_cover=_span(wounded, table.cover_days),
        antitoxin_repeat=wounded + dt.timedelta(days=table.repeat_days),
        why=f"{known}: toxoid and antitoxin at this visit, separate syringes and sites; "
        f"then finish the course ({table.course_text}). Antitoxin: {table.antitoxin_text}",
        source=f"{table.course_source}; {table.antitoxin_source}",
    )


def _begun(table: TetanusTable, wounded: dt.date, first: dt.date) -> TetanusDecision:
    """Give what a horse needs that had the first dose of a course and no second."""
    second = _span(first, table.next_dose_days)
    due = wounded >= second[0]
    now = "second dose now" if due else f"second dose {second[0]} to {second[1]}"
    return TetanusDecision(
        toxoid=due,
        antitoxin_units=table.antitoxin_units,
        next_dose=None if due else second,
        antitoxin_cover=_span(wounded, table.cover_days),
        antitoxin_repeat=wounded + dt.timedelta(days=table.repeat_days),
        why=f"one dose only ({first}), not covered before the second: antitoxin at this visit, "
        f"{now} ({table.course_text}). Antitoxin: {table.antitoxin_text}",
        source=f"{table.course_source}; {table.antitoxin_source}; "
        "one dose counts as no protection: common practice",
    )


def tetanus_decision(
    table: TetanusTable,
    wounded: dt.date,
    last: dt.date | None,
    rule_months: int,
    *,
    never: bool = False,
    begun: bool = False,
) -> TetanusDecision:
    """Decide from the wound's date and the last toxoid dose; unknown counts as never.

    Toxoid when wounded is after last + N calendar months. `begun`: the last dose was the first
    of a course. Refused: last dose after the wound, a history that is both dated and never, a
    course begun without its day.
    """
    interval = _interval(table, rule_months)
    if begun and last is None:
        raise RefusedInputError("last", "which day was the first dose of the course?")
    if last is None:
        known = "never vaccinated" if never else "history unknown, treated as never vaccinated"
        return _unvaccinated(table, wounded, known)
    if never:
        raise RefusedInputError("never", "a last dose is given as well; give one")
    if last > wounded:
        raise RefusedInputError("last", f"{last} is after the wound of {wounded}")
    if begun:
        return _begun(table, wounded, last)
    due = add_months(last, rule_months)
    booster = wounded > due
    over = "over" if booster else "not over"
    return TetanusDecision(
        toxoid=booster,
        antitoxin_units=None,
        next_dose=None,
        antitoxin_cover=None,
        antitoxin_repeat=None,
        why=f"last dose {last}, wound {wounded}: {over} {rule_months} months ({due}); "
        f"{'booster now' if booster else 'no booster'} ({interval.label})",
        source=interval.source,
    )
