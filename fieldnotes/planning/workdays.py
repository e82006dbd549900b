"""Days the practice drives, and hours someone is at a premises."""

from __future__ import annotations

import datetime as dt
from functools import cache
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldnotes.domain.patients import Practice, Premises

SOURCE = "the holidays library"
Hours = tuple[dt.datetime, dt.datetime]


def works(practice: Practice, day: dt.date) -> bool:
    """Whether the practice works on a day: a working weekday, no day off, no public holiday."""
    return not free_because(practice, day)


def free_because(practice: Practice, day: dt.date) -> str:
    """Say why the practice does not work on a day, with the source; empty if it does."""
    if day.weekday() not in practice.working_days:
        return f"{day:%A} is no working day (set by the practice)"
    if day in practice.days_off:
        return "day off (set by the practice)"
    name = _public_holidays(practice.holiday_region, day.year).get(day, "")
    return f"public holiday: {name} ({practice.holiday_region}, {SOURCE})" if name else ""


def holiday_region_fault(region: str) -> str:
    """Say what is wrong with a region such as GB-ENG or DE; empty if its holidays are known."""
    try:
        _public_holidays(region, 2026)
    except NotImplementedError:
        return f"no public holidays are known for '{region}'; write it like GB-ENG, US-CA or IE"
    return ""


@cache
def _public_holidays(region: str, year: int) -> Mapping[dt.date, str]:
    """Give a year's public holidays by day; nothing without a region."""
    if not region:
        return {}
    from holidays import country_holidays  # noqa: PLC0415  (slow to import, seldom needed)

    country, _, part = region.upper().partition("-")
    return dict(country_holidays(country, subdiv=part or None, years=year))


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


def free_days(practice: Practice, start: dt.date, last: dt.date) -> tuple[tuple[dt.date, str], ...]:
    """Give the days from one to another on which the practice does not work, each with why."""
    days = (start + dt.timedelta(days=n) for n in range((last - start).days + 1))
    return tuple((day, why) for day in days if (why := free_because(practice, day)))
