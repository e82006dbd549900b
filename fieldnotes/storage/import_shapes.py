"""Turns a JSON value of the import form into a record: dates, clean text, names that exist.

Errors name the place and the reason; a misspelt name comes with its nearest neighbour.
"""

from __future__ import annotations

import datetime as dt
import re
import types
from contextlib import suppress
from dataclasses import dataclass, fields, is_dataclass
from difflib import get_close_matches
from enum import StrEnum
from functools import cache
from typing import TYPE_CHECKING, Any, Final, TypeVar, get_args, get_origin, get_type_hints

import msgspec

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.text import clean, clean_line

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from fieldnotes.knowledge.limits import Limits

T = TypeVar("T")

YEARS: Final = range(1900, 2200)  # beyond them lies no record, and near the ends no reckoning
OFFSET: Final = r"@([+-]?\d{1,5})"
_DAY = re.compile(OFFSET, re.ASCII)
_MOMENT = re.compile(OFFSET + r"T(\d\d:\d\d)", re.ASCII)
_PLACE = re.compile(r"(.*) - at `\$\.?(.*)`", re.DOTALL)
_ONE_LINE: Final = ("id", "name", "phone", "email", "label", "region", "by", "case", "zone")
_KINDS: Final = {
    "float": "a number",
    "int": "a whole number",
    "str": "a text",
    "bool": "true or false",
    "date": "a date",
    "datetime": "a date and time",
    "time": "a time",
    "array": "a list",
    "object": "a group of fields",
    "null": "nothing",
}
_REWORDED: Final = (
    (r"Object missing required field `(.*)`", r"\1 is missing"),
    (r"Invalid RFC3339 encoded datetime", "a date and time such as 2025-06-02T09:40 or @-3T09:40"),
    (r"Invalid RFC3339 encoded date", "a date such as 2025-06-02 or @-3 is needed"),
    (r"Invalid RFC3339 encoded time", "a time such as 09:40 is needed"),
)


@dataclass(frozen=True)
class Frame:
    """What offsets and local times are read against, and the bounds of the fields."""

    today: dt.date
    zone: ZoneInfo
    limits: Limits

    def date(self, offset: str) -> dt.date:
        """Give the date so many days from today; ValueError beyond the calendar."""
        return in_calendar(self.today, int(offset))

    def moment(self, day: dt.date, clock: str) -> dt.datetime:
        """Give a local time on a day with its UTC offset; ValueError names a wrong time."""
        try:
            time = dt.time.fromisoformat(clock)
        except ValueError as error:
            raise ValueError(f"{clock!r} is not a time such as 09:40") from error
        if time.tzinfo is not None:
            raise ValueError(f"{clock!r} has an offset; a local time such as 09:40 is needed")
        return dt.datetime.combine(day, time, self.zone)


def in_calendar(day: dt.date, days: int = 0) -> dt.date:
    """Give the day so many days on; ValueError outside the years a record can be of."""
    with suppress(OverflowError):
        found = day + dt.timedelta(days=days)
        if found.year in YEARS:
            return found
    raise ValueError(f"outside the calendar, which goes from {YEARS[0]} to {YEARS[-1]}")


def refused(place: str, reason: str) -> RefusedInputError:
    """Give the error about one place of a file."""
    return RefusedInputError(place, reason)


def nearest(name: str, known: tuple[str, ...]) -> str:
    """Give a hint at the nearest known name, or the names there are."""
    close = get_close_matches(name, known, n=1)
    return f"did you mean {close[0]!r}?" if close else f"known are {', '.join(known)}"


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def _date(value: str, frame: Frame) -> str:
    found = _DAY.fullmatch(value)
    if found:
        return frame.date(found[1]).isoformat()
    try:
        day = dt.date.fromisoformat(value)
    except ValueError:
        return value  # the conversion says what is wrong with it
    in_calendar(day)
    return value


def _datetime(value: str, frame: Frame) -> str:
    found = _MOMENT.fullmatch(value)
    if found:
        return frame.moment(frame.date(found[1]), found[2]).isoformat()
    try:
        moment = dt.datetime.fromisoformat(value)
    except ValueError:
        return value  # likewise
    in_calendar(moment.date())
    return (moment if moment.tzinfo else moment.replace(tzinfo=frame.zone)).isoformat()


def _enumerated(value: str, kind: type[StrEnum]) -> str:
    names = tuple(member.value for member in kind)
    if value not in names:
        raise ValueError(f"{value!r} is not known; {nearest(value, names)}")
    return value


def _text(value: str, kind: object, place: str, frame: Frame) -> str:
    """Give a text as its field needs it; ValueError says what is wrong."""
    if kind is dt.date:
        return _date(value, frame)
    if kind is dt.datetime:
        return _datetime(value, frame)
    if kind is dt.time:
        return f"{value}:00" if re.fullmatch(r"\d\d:\d\d", value, re.ASCII) else value
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return _enumerated(value, kind)
    return clean_line(value) if place.rpartition(", ")[2] in _ONE_LINE else clean(value)


def _group(value: dict[str, Any], kind: type, place: str, frame: Frame) -> dict[str, Any]:
    known = tuple(f.name for f in fields(kind))
    unknown = [name for name in value if name not in known]
    if unknown:
        hint = nearest(unknown[0], known)
        raise refused(f"{place}, {clean_line(unknown[0])}", f"there is no such field; {hint}")
    hints = _hints(kind)
    return {n: _shaped(v, hints[n], f"{place}, {n}", frame) for n, v in value.items()}


def _shaped(value: object, kind: Any, place: str, frame: Frame) -> object:  # noqa: ANN401  (any annotation)
    """Give a value as the conversion to its annotated kind wants it."""
    if isinstance(kind, types.UnionType):
        kind = next(k for k in get_args(kind) if k is not types.NoneType)
    if isinstance(value, str):
        try:
            return _text(value, kind, place, frame)
        except ValueError as error:
            raise refused(place, str(error)) from error
    if isinstance(value, list) and get_origin(kind) is tuple:
        item = get_args(kind)[0]
        return [_shaped(v, item, f"{place} {i}", frame) for i, v in enumerate(value, 1)]
    if isinstance(value, dict) and is_dataclass(kind):
        return _group(value, kind, place, frame)  # type: ignore[arg-type]  # a class, not a record
    if isinstance(value, int | float) and not isinstance(value, bool):
        limit = frame.limits.get(place.rpartition(", ")[2])
        fault = limit.fault(value) if limit else ""
        if fault:
            raise refused(place, fault)
    return value


def _words(message: str) -> str:
    """Give a conversion error in the reader's words."""
    found = re.fullmatch(r"Expected `(.*)`, got `(.*)`", message)
    if not found:
        for theirs, ours in _REWORDED:
            message = re.sub(theirs, ours, message)
        return message
    wanted, got = ([_KINDS.get(k, k) for k in part.split(" | ")] for part in found.groups())
    return f"{' or '.join(wanted)} is needed, not {got[0]}"


def _place_of(place: str, path: str) -> str:
    steps = re.sub(r"\[(\d+)\]", lambda m: f" {int(m[1]) + 1}", path)
    return ", ".join((place, *steps.split("."))) if steps else place


def record(value: object, kind: type[T], place: str, frame: Frame) -> T:
    """Give the record of a kind that a JSON value means; RefusedInputError names the place."""
    shaped = _shaped(value, kind, place, frame)
    try:
        return msgspec.convert(shaped, kind)
    except msgspec.ValidationError as error:
        message, path = str(error), ""
        found = _PLACE.fullmatch(message)
        if found:
            message, path = found.groups()
        raise refused(_place_of(place, path), _words(message)) from error
