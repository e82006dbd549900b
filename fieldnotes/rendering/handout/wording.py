"""Dates, temperatures and amounts as an owner reads them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.units import fahrenheit_from_celsius
from fieldnotes.knowledge.language import ENGLISH

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.treatment import DrugDispensed
    from fieldnotes.knowledge.language import Language


def day_text(day: dt.date, language: Language = ENGLISH) -> str:
    """Give a date as "Tue 3 June"."""
    return f"{language.days[day.weekday()]} {language.day(day)}"


def full_day(day: dt.date, language: Language = ENGLISH) -> str:
    """Give a date with its year and the ISO form, which no country reads another way."""
    return f"{day_text(day, language)} {day.year} ({day.isoformat()})"


def span_text(first: dt.date, last: dt.date, language: Language = ENGLISH) -> str:
    """Give a span of days, one day alone as that day."""
    if first == last:
        return day_text(first, language)
    return language.say(
        "{first} to {last}", first=day_text(first, language), last=day_text(last, language)
    )


def short_span(first: dt.date, last: dt.date, language: Language = ENGLISH) -> str:
    """Give a span of days without weekdays, the month once where it is the same."""
    if first >= last:
        return language.day(last)
    same = (first.year, first.month) == (last.year, last.month)
    begins = f"{first.day}{language.after_day}" if same else language.day(first)
    return language.say("{first} to {last}", first=begins, last=language.day(last))


def when_text(task: FollowUp, today: dt.date, language: Language = ENGLISH) -> str:
    """Give when a task is done, from today on: appointment, due day, or a series' span."""
    if task.appointment:
        return f"{full_day(task.appointment.date(), language)}, {task.appointment:%H:%M}"
    due = max(task.due, today)
    if task.series:
        return span_text(due, max(due, task.series.until), language)
    return full_day(due, language)


def temperature_text(celsius: float, language: Language = ENGLISH) -> str:
    """Give a temperature in the scales that are read with a language."""
    fahrenheit = f"{fahrenheit_from_celsius(celsius):.1f}"
    text = f"{celsius:.1f}".replace(".", language.decimal)
    return language.say("{c} °C ({f} °F)", c=text, f=fahrenheit)


def number_text(value: float, language: Language = ENGLISH) -> str:
    """Give a number without needless zeros."""
    return f"{value:.10g}".replace(".", language.decimal)


def every_days(days: float, language: Language = ENGLISH) -> str:
    """Give how often, in days."""
    if days <= 1:
        return language.say("each day")
    return language.say("every {n} days", n=number_text(days, language))


def every_hours(hours: float, language: Language = ENGLISH) -> str:
    """Give how often, in hours."""
    common = {24.0: "once a day", 12.0: "2 times a day", 8.0: "3 times a day", 6.0: "4 times a day"}
    if hours in common:
        return language.say(common[hours])
    if hours > 24:
        return every_days(hours / 24, language)
    return language.say("every {n} hours", n=number_text(hours, language))


def amount_text(drug: DrugDispensed, language: Language = ENGLISH) -> str:
    """Give one dose: the drug's own unit, and the owner's unit where it was said."""
    known = drug.amount is not None
    amount = f"{number_text(drug.amount or 0.0, language)} {drug.unit}" if known else ""
    if drug.owner_dose and amount:
        return f"{drug.owner_dose} ({amount})"
    return drug.owner_dose or amount or language.say("amount: ask us")
