"""The practice's settings as a table: each read from text and given as text, for form and command.

Settings that decide between disputed figures are in the rule book, the mail server with the post.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from fieldnotes.domain.body_weight import UNITS
from fieldnotes.domain.entries import REGISTER, PracticeSet
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.domain.patients import LANGUAGES
from fieldnotes.knowledge.upkeep import load_upkeep
from fieldnotes.planning.positions import decimal_degrees, parse_position

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.patients import Practice

WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MOST_DAYS_OFF = 400
_CLOCK = re.compile(r"(\d{1,2})[:.](\d{2})", re.ASCII)


@dataclass(frozen=True)
class Setting:
    """One setting: a field of the practice, its page and label, how its text is read and given."""

    key: str
    page: str
    label: str
    hint: str
    read: Callable[[str], Any]
    text: Callable[[Any], str] = str

    def of(self, practice: Practice) -> str:
        """Give the setting of a practice as text; empty if it is not set."""
        value = getattr(practice, self.key)
        return "" if value is None else self.text(value)

    def value(self, text: str) -> Any:  # noqa: ANN401  (each setting reads its own type)
        """Give what a text stands for; RefusedInputError names the setting."""
        try:
            return self.read(text.strip())
        except RefusedInputError as error:
            raise RefusedInputError(self.key, error.reason) from error


def _refuse(reason: str) -> RefusedInputError:
    return RefusedInputError("", reason)


def _needed(text: str) -> str:
    if not text:
        raise _refuse("this is needed")
    return text


def _zone(text: str) -> str:
    try:
        ZoneInfo(_needed(text))
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise _refuse(f"no time zone is called '{text}'; one is called Europe/London") from error
    return text


def _clock(text: str) -> dt.time:
    found = _CLOCK.fullmatch(_needed(text))
    if found is None or int(found[1]) > 23 or int(found[2]) > 59:
        raise _refuse(f"'{text}' is not a time like 7:30")
    return dt.time(int(found[1]), int(found[2]))


def _clock_or_none(text: str) -> dt.time | None:
    return _clock(text) if text else None


def _weekdays(text: str) -> tuple[int, ...]:
    days = set()
    for word in re.split(r"[\s,;]+", text.casefold()):
        found = next((n for n, day in enumerate(WEEK) if word.startswith(day)), None)
        if word and found is None:
            raise _refuse(f"'{word}' is not a day like mon")
        if found is not None:
            days.add(found)
    if not days:
        raise _refuse("at least one day is worked, e.g. mon tue wed thu fri")
    return tuple(sorted(days))


def _date(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        raise _refuse(f"'{text}' is not a day like 2026-12-24") from error


def _days_off(text: str) -> tuple[dt.date, ...]:
    days: set[dt.date] = set()
    for part in filter(None, (p.strip() for p in re.split(r"[,;]", text))):
        ends = [_date(p) for p in re.split(r"\s*(?:\.\.|\bto\b)\s*", part)]
        first, last = ends[0], ends[-1]
        if len(ends) > 2 or last < first or (last - first).days > MOST_DAYS_OFF:
            raise _refuse(f"'{part}' is not a day or days like 2026-12-24 .. 2026-12-31")
        days |= {first + dt.timedelta(days=n) for n in range((last - first).days + 1)}
    return tuple(sorted(days))


def _runs(days: tuple[dt.date, ...]) -> Iterator[str]:
    """Give days in words, those in a row as first .. last."""
    run: list[dt.date] = []
    for day in (*days, None):
        if day is not None and (not run or day == run[-1] + dt.timedelta(days=1)):
            run.append(day)
            continue
        if run:
            yield f"{run[0]} .. {run[-1]}" if len(run) > 1 else f"{run[0]}"
        run = [day] if day is not None else []


def _number(least: float, most: float, unit: str = "") -> Callable[[str], float]:
    def read(text: str) -> float:
        try:
            value = float(_needed(text).replace(",", "."))
        except ValueError as error:
            raise _refuse(f"'{text}' is not a number") from error
        if not least <= value <= most:
            raise _refuse(f"{text} is not within {least:g} to {most:g} {unit}".rstrip())
        return value

    return read


def _whole(least: int, most: int, unit: str = "") -> Callable[[str], int]:
    number = _number(least, most, unit)

    def read(text: str) -> int:
        value = number(text)
        if value != int(value):
            raise _refuse(f"{text} is not a whole number")
        return int(value)

    return read


def _or_none(read: Callable[[str], Any]) -> Callable[[str], Any]:
    return lambda text: read(text) if text else None


def _one_of(*values: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        if text not in map(str, values):
            raise _refuse(f"'{text}' is not one of {', '.join(map(str, values))}")
        return int(text)

    return read


def _language(text: str) -> str:
    if text not in {"", *LANGUAGES}:
        raise _refuse(f"'{text}' is not one of {', '.join(LANGUAGES)}")
    return text


def _among(words: tuple[str, ...]) -> Callable[[str], str]:
    def read(text: str) -> str:
        word = _needed(text).casefold()
        if word not in words:
            raise _refuse(f"'{text}' is not one of {', '.join(words)}")
        return word

    return read


def _spoken(value: float) -> str:
    return f"{value:g}"


def _hour(value: dt.time) -> str:
    return f"{value:%H:%M}"


def _week(days: tuple[int, ...]) -> str:
    return " ".join(WEEK[n] for n in days)


def settings() -> tuple[Setting, ...]:
    """Give every setting, page by page."""
    least_years = load_upkeep().retention_years
    one, day, drive, rule = "Practice", "Days", "Driving", "Records"
    return (
        Setting("name", one, "Name", "as it stands on papers", _needed),
        Setting("phone", one, "Phone", "the number owners ring", _needed),
        Setting("emergency_phone", one, "Emergency", "out of hours; large on the handout", str),
        Setting("email", one, "Email", "sender of handouts", str),
        Setting("address", one, "Address", "", str),
        Setting("zone", one, "Time zone", "such as Europe/London", _zone),
        Setting("base", one, "Base", "where the day starts: 54.51, -1.62, a geo: link, a plus code",
                _or_none(parse_position), decimal_degrees),
        Setting("units", one, "Units",
                "metric or us: body weights in pounds beside kg; doses are reckoned in kg",
                _among(UNITS)),
        Setting("jurisdiction", one, "Jurisdiction",
                "UK, EU, US, Australia ...: whose law and labels the rules speak of", str),
        Setting("language", one, "Language",
                f"of what owners get: {', '.join(LANGUAGES)}; an owner may differ", _language),
        Setting("day_start", day, "Day starts", "e.g. 7:30", _clock, _hour),
        Setting("day_end", day, "Day ends", "e.g. 18:00", _clock, _hour),
        Setting("working_days", day, "Working days", "mon tue wed thu fri", _weekdays, _week),
        Setting("days_off", day, "Days off", "2026-12-24 .. 2026-12-31, 2027-01-02", _days_off,
                lambda days: ", ".join(_runs(days))),
        Setting("holiday_region", day, "Holidays of",
                "whose public holidays are kept: GB-ENG, US-CA, IE ..., or nothing", str),
        Setting("break_from", day, "Break from", "earliest start; empty: none", _clock_or_none,
                _hour),
        Setting("break_until", day, "Break until", "latest start", _clock_or_none, _hour),
        Setting("break_min", day, "Break", "minutes", _number(5, 180, "min"), _spoken),
        Setting("most_visits", day, "Most visits", "a day; empty: no cap",
                _or_none(_whole(1, 100)), _spoken),
        Setting("most_visit_min", day, "Most minutes", "at stops a day; empty: no cap",
                _or_none(_number(1, 1440, "min")), _spoken),
        Setting("drive_fixed_min", drive, "Each drive", "minutes before the first kilometre; "
                "logged drives re-fit both", _number(0, 30, "min"), _spoken),
        Setting("drive_min_per_km", drive, "Per kilometre", "minutes a kilometre as the crow flies",
                _number(0.3, 10, "min"), _spoken),
        Setting("tetanus_rule_months", rule, "Tetanus rule",
                "6 or 12: months after which a wound asks for a booster", _one_of(6, 12)),
        Setting("retention_years", rule, "Kept for",
                f"years; closed cases younger are never deleted (at least {least_years})",
                _whole(least_years, 100, "years")),
    )  # fmt: skip


def setting_named(key: str) -> Setting:
    """Give a setting by its key; UnknownNameError lists them."""
    every = settings()
    found = next((s for s in every if s.key == key), None)
    if found is None:
        names = tuple(s.key for s in every)
        raise UnknownNameError("setting", f"'{key}' is not one of {', '.join(names)}", names)
    return found


def with_settings(practice: Practice, texts: Mapping[str, str]) -> Practice:
    """Give a practice with settings as typed; RefusedInputError names the first that is wrong."""
    changed = {key: setting_named(key).value(text) for key, text in texts.items()}
    return replace(practice, **changed)


def change_setting(desk: Casework, key: str, text: str) -> Saved:
    """Change one setting; RefusedInputError if the practice could not be so."""
    body = PracticeSet(with_settings(desk.practice(), {key: text}))
    problems = desk.check(REGISTER, body)
    if problems:
        raise RefusedInputError(problems[0].field, problems[0].message)
    return desk.save(body)
