"""Dates, temperatures and amounts as an owner reads them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.units import fahrenheit_from_celsius

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.treatment import DrugDispensed


def day_text(day: dt.date) -> str:
    """Give a date as "Tue 3 June"."""
    return f"{day:%a} {day.day} {day:%B}"


def full_day(day: dt.date) -> str:
    """Give a date with its year and the ISO form, which no country reads another way."""
    return f"{day_text(day)} {day.year} ({day.isoformat()})"


def span_text(first: dt.date, last: dt.date) -> str:
    """Give a span of days, one day alone as that day."""
    return day_text(first) if first == last else f"{day_text(first)} to {day_text(last)}"


def short_span(first: dt.date, last: dt.date) -> str:
    """Give a span of days without weekdays, the month once where it is the same."""
    if first >= last:
        return f"{last.day} {last:%B}"
    month = "" if (first.year, first.month) == (last.year, last.month) else f" {first:%B}"
    return f"{first.day}{month} to {last.day} {last:%B}"


def when_text(task: FollowUp, today: dt.date) -> str:
    """Give when a task is done, from today on: appointment, due day, or a series' span."""
    if task.appointment:
        return f"{full_day(task.appointment.date())}, {task.appointment:%H:%M}"
    due = max(task.due, today)
    if task.series:
        return span_text(due, max(due, task.series.until))
    return full_day(due)


def temperature_text(celsius: float) -> str:
    """Give a temperature in both scales."""
    return f"{celsius:.1f} °C ({fahrenheit_from_celsius(celsius):.1f} °F)"


def number_text(value: float) -> str:
    """Give a number without needless zeros."""
    return f"{value:.10g}"


def every_days(days: float) -> str:
    """Give how often, in days."""
    return "each day" if days <= 1 else f"every {number_text(days)} days"


def every_hours(hours: float) -> str:
    """Give how often, in hours."""
    common = {24.0: "once a day", 12.0: "2 times a day", 8.0: "3 times a day", 6.0: "4 times a day"}
    if hours in common:
        return common[hours]
    return f"every {number_text(hours / 24)} days" if hours > 24 else f"every {hours:g} hours"


def amount_text(drug: DrugDispensed) -> str:
    """Give one dose: the drug's own unit, and the owner's unit where it was said."""
    amount = "" if drug.amount is None else f"{number_text(drug.amount)} {drug.unit}"
    if drug.owner_dose and amount:
        return f"{drug.owner_dose} ({amount})"
    return drug.owner_dose or amount or "amount: ask us"
