"""Days the practice drives, and hours someone is at a premises."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from fieldnotes.domain.patients import Practice, Premises

Hours = tuple[dt.datetime, dt.datetime]


def works(practice: Practice, day: dt.date) -> bool:
    """Whether the practice works on a day."""
    return day.weekday() in practice.working_days and day not in practice.days_off


def reachable(premises: Premises, day: dt.date) -> bool:
    """Whether someone is at a premises on a day; no hours given means always."""
    return not premises.hours or any(w.weekday == day.weekday() for w in premises.hours)


def hours(practice: Practice, premises: Premises | None, day: dt.date) -> tuple[Hours, ...]:
    """Give when someone is there on a day, in the practice's zone; else the practice's own day.

    Hours that name only other weekdays give nothing.
    """
    zone = ZoneInfo(practice.zone)
    spans = [(practice.day_start, practice.day_end)]
    if premises is not None and premises.hours:
        spans = [(w.opens, w.closes) for w in premises.hours if w.weekday == day.weekday()]
    return tuple(
        (dt.datetime.combine(day, a, zone), dt.datetime.combine(day, b, zone))
        for a, b in sorted(spans)
    )


def next_workdays(practice: Practice, start: dt.date, number: int) -> tuple[dt.date, ...]:
    """Give the next so many working days from a day on; fewer where a year holds too few."""
    days = (start + dt.timedelta(days=n) for n in range(366))
    return tuple(d for d in days if works(practice, d))[:number]
