"""Fields for days and times: typed ISO dates, `+3d`, `fri`, `today`, `4h` ago, `14:30`."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.casework.checks import CLOCK_SLACK
from fieldnotes.clinical.wound_age import age_class, hours_between
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.planning.route_clock import minutes_later
from fieldnotes.tui.fields.field import Field

if TYPE_CHECKING:
    from fieldnotes.knowledge.wound_ages import WoundAges

DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_OFFSET = re.compile(r"([+-])?\s*(\d{1,4})\s*([dw])", re.ASCII)
_AGO = re.compile(r"(\d{1,4})\s*(min|m|h|d)(?:\s*ago)?", re.ASCII)
_CLOCK = re.compile(r"(\d{1,2})[:.](\d{2})", re.ASCII)
_UNITS = {"min": "minutes", "m": "minutes", "h": "hours", "d": "days"}


def read_day(text: str, today: dt.date, *, past: bool = False) -> dt.date | None:
    """Read a day; None if it is none. `past` makes a weekday the one just gone."""
    word = text.strip().casefold()
    named = {"today": 0, "yesterday": -1, "tomorrow": 1}
    if word in named:
        return today + dt.timedelta(days=named[word])
    if found := _OFFSET.fullmatch(word):
        days = int(found[2]) * (7 if found[3] == "w" else 1)
        back = found[1] == "-" or (past and not found[1])
        return today + dt.timedelta(days=-days if back else days)
    matches = [i for i, day in enumerate(DAYS) if len(word) >= 2 and day.startswith(word)]
    if len(matches) == 1:
        ahead = (matches[0] - today.weekday()) % 7
        return today + dt.timedelta(days=ahead - 7 if past and ahead else ahead)
    try:
        return dt.date.fromisoformat(word)
    except ValueError:
        return None


def read_moment(text: str, now: dt.datetime) -> dt.datetime | None:
    """Read a past moment: `now`, `4h`, `14:30` (the last one), a day, a day and a time."""
    word = text.strip().casefold()
    if word in {"now", ""}:
        return now
    if found := _AGO.fullmatch(word):
        ago = dt.timedelta(**{_UNITS[found[2]]: int(found[1])})
        return minutes_later(now, -ago.total_seconds() / 60)
    day_word, _, clock_word = (
        word.replace("t", " ", 1).rpartition(" ") if word[:1].isdigit() else word.rpartition(" ")
    )
    clock = _CLOCK.fullmatch(clock_word)
    if clock is None:
        day = read_day(word, now.date(), past=True)
        return None if day is None else _on(day, now)
    day = read_day(day_word, now.date(), past=True) if day_word else now.date()
    hour, minute = int(clock[1]), int(clock[2])
    if day is None or hour > 23 or minute > 59:
        return None
    moment = now.replace(
        year=day.year,
        month=day.month,
        day=day.day,
        hour=hour,
        minute=minute,
        second=0,
        microsecond=0,
    )
    return moment - dt.timedelta(days=1) if not day_word and moment > now else moment


def _on(day: dt.date, now: dt.datetime) -> dt.datetime:
    """Give noon of an earlier day, or now: only the day was said."""
    if day == now.date():
        return now
    return now.replace(
        year=day.year, month=day.month, day=day.day, hour=12, minute=0, second=0, microsecond=0
    )


def ago(moment: dt.datetime, now: dt.datetime) -> str:
    """Give how long ago a moment was, in words."""
    hours = (now - moment).total_seconds() / 3600
    if abs(hours) < 0.05:
        return "now"
    if 0 < hours < 48:
        return f"{hours:.0f} h ago" if hours >= 1 else f"{hours * 60:.0f} min ago"
    days = (now.date() - moment.date()).days
    return f"{days} days ago" if days >= 0 else "in the future"


@dataclass(frozen=True, kw_only=True)
class MomentField(Field):
    """A moment not in the future."""

    now: dt.datetime
    empty_is_none: bool = False

    def _read(self, text: str) -> dt.datetime | None:
        if self.empty_is_none and not text.strip():
            return None
        moment = read_moment(text, self.now)
        if moment is None:
            raise RefusedInputError(
                self.key,
                f"'{text.strip()}' is not a time like 4h, 14:30, yesterday or 2026-03-02 14:30",
            )
        if moment > self.now + CLOCK_SLACK:
            self.refuse(f"{moment:%d %b %Y %H:%M} is still to come")
        return moment

    def echo(self, text: str) -> str:
        """Give the day, time and how long ago."""
        try:
            moment = self._read(text)
        except RefusedInputError:
            return ""
        return "" if moment is None else f"{moment:%a %d %b %H:%M}, {ago(moment, self.now)}"

    def fixed(self, text: str) -> str:
        """Give the same moment so that it reads alike later; what cannot be read as it is.

        A time said without a colon is about then, and stays so: it is kept as 20.22.
        """
        if self.empty_is_none and not text.strip():
            return text
        moment = read_moment(text, self.now)
        mark = ":" if ":" in text else "."
        return text if moment is None else f"{moment:%Y-%m-%d %H{mark}%M}"


@dataclass(frozen=True, kw_only=True)
class InjuredField(MomentField):
    """When the injury happened; says which class of age the wound is in."""

    ages: WoundAges

    def echo(self, text: str) -> str:
        """Give the moment, how long ago, and the class."""
        if not super().echo(text):
            return ""
        moment = self.read(text)
        found = age_class(max(hours_between(moment, self.now), 0.0), self.ages)
        since = f"{ago(moment, self.now)}, class {found.number}"
        return f"{since}; {moment:%a %d %b %H:%M}; {found.means}"


@dataclass(frozen=True, kw_only=True)
class DateField(Field):
    """A day, or None if empty; `past` reads weekdays and plain counts backwards."""

    today: dt.date
    past: bool = False

    def _read(self, text: str) -> dt.date | None:
        if not text.strip():
            return None
        day = read_day(text, self.today, past=self.past)
        if day is None:
            raise RefusedInputError(
                self.key, f"'{text.strip()}' is not a day like today, fri, +3d or 2026-03-02"
            )
        return day

    def echo(self, text: str) -> str:
        """Give the day in words."""
        try:
            day = self._read(text)
        except RefusedInputError:
            return ""
        return "" if day is None else f"{day:%a %d %b %Y}"

    def fixed(self, text: str) -> str:
        """Give the same day as a date; what cannot be read as it is."""
        day = read_day(text, self.today, past=self.past)
        return text if day is None else day.isoformat()


@dataclass(frozen=True, kw_only=True)
class ClockField(Field):
    """A time of day such as 7:30, or None if empty."""

    def _read(self, text: str) -> dt.time | None:
        if not text.strip():
            return None
        found = _CLOCK.fullmatch(text.strip())
        if found is None or int(found[1]) > 23 or int(found[2]) > 59:
            raise RefusedInputError(self.key, f"'{text.strip()}' is not a time like 7:30")
        return dt.time(int(found[1]), int(found[2]))
