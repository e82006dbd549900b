"""Reading a series of wound sizes, and a traced outline, from plain text; errors name the line."""

from __future__ import annotations

import csv
import io
import math
from itertools import pairwise
from typing import TYPE_CHECKING, TypeAlias

from fieldnotes.clinical.course import Measured
from fieldnotes.clinical.measuring import MOST_LENGTH_CM, Size, ellipse, given
from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldnotes.clinical.outlines import Point

    Line: TypeAlias = tuple[int, list[str]]

MOST_ROWS = 500
MOST_DAY = 3_650
HEADERS = (
    ("day", "length_cm", "width_cm"),
    ("day", "area_cm2"),
    ("day", "area_cm2", "perimeter_cm"),
)
# One step of the series that no wound takes, but a change from cm to mm does.
_UNIT_FOLD = 50
_UNIT_MM_PER_DAY = 5


def read_series(text: str) -> tuple[Measured, ...]:
    """Read `day,length_cm,width_cm` or `day,area_cm2[,perimeter_cm]` rows; area 0 only last.

    RefusedInputError names the line and what is wrong with it.
    """
    lines = _lines(text)
    if not lines:
        raise RefusedInputError("series", "the file is empty")
    header = _header(*lines[0])
    rows = lines[1:]
    if not rows:
        raise RefusedInputError("series", "there is no row below the header")
    if len(rows) > MOST_ROWS:
        raise RefusedInputError("series", f"more than {MOST_ROWS} rows")
    series = tuple((number, _measured(number, header, fields)) for number, fields in rows)
    _refuse_disorder(series)
    return tuple(measured for _, measured in series)


def read_outline(text: str) -> tuple[Point, ...]:
    """Read x,y points in cm, one a line (a header x,y may stand above them)."""
    lines = _lines(text.replace("\t", ",").replace(";", ","))
    if lines and [f.removesuffix("_cm") for f in lines[0][1]] == ["x", "y"]:
        lines = lines[1:]
    points = []
    for number, fields in lines:
        parts = fields if len(fields) > 1 else fields[0].split()
        if len(parts) != 2:
            raise RefusedInputError(f"line {number}", "two numbers x,y in cm are needed")
        x, y = (_number(number, part) for part in parts)
        if max(abs(x), abs(y)) > 100 * MOST_LENGTH_CM:
            raise RefusedInputError(f"line {number}", f"{x:g},{y:g} is no point in cm")
        points.append((x, y))
    if points[1:] and points[0] == points[-1]:
        points.pop()
    return tuple(points)


def _lines(text: str) -> list[Line]:
    """Give the lines that hold something, with their numbers, split at commas."""
    if "\0" in text:
        raise RefusedInputError("series", "this is no text file")
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff")))
    try:
        rows = [(reader.line_num, [field.strip() for field in row]) for row in reader]
    except csv.Error as error:
        raise RefusedInputError(f"line {reader.line_num}", str(error)) from error
    return [(number, fields) for number, fields in rows if any(fields)]


def _header(number: int, fields: list[str]) -> tuple[str, ...]:
    names = tuple(field.casefold() for field in fields)
    if names in HEADERS:
        return names
    known = " or ".join(",".join(header) for header in HEADERS)
    units = {name.rpartition("_")[2] for name in names[1:]}
    if "day" not in names:
        reason = "the header is missing"
    elif units & {"mm", "mm2", "in", "in2", "inch", "m"}:
        reason = "sizes are taken in cm and cm2 only"
    else:
        reason = f"unknown columns {','.join(fields)[:80]}"
    raise RefusedInputError(f"line {number}", f"{reason}; needed: {known}")


def _number(line: int, text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        shown = text[:40] or "nothing"
        raise RefusedInputError(f"line {line}", f"{shown}: a plain number is needed") from None
    if not math.isfinite(value) or "_" in text:
        raise RefusedInputError(f"line {line}", f"{text[:40]}: a plain number is needed")
    return value


def _measured(line: int, header: tuple[str, ...], fields: list[str]) -> Measured:
    if len(fields) != len(header):
        raise RefusedInputError(
            f"line {line}", f"{len(fields)} values, but the header has {len(header)} columns"
        )
    day, *sizes = (_number(line, field) for field in fields)
    if not 0 <= day <= MOST_DAY:
        raise RefusedInputError(f"line {line}", f"day {day:g} is not within 0 to {MOST_DAY:,}")
    try:
        return Measured(day, _size(header, sizes))
    except RefusedInputError as error:
        raise RefusedInputError(f"line {line}, {error.field}", error.reason) from error


def _size(header: tuple[str, ...], sizes: Sequence[float]) -> Size:
    if header[1] == "length_cm":
        return ellipse(*sizes)
    return given(*sizes)


def _refuse_disorder(series: Sequence[tuple[int, Measured]]) -> None:
    for (_, a), (line, b) in pairwise(series):
        place = f"line {line}"
        if b.day == a.day:
            raise RefusedInputError(place, f"day {b.day:g} stands twice")
        if b.day < a.day:
            raise RefusedInputError(place, f"day {b.day:g} comes after day {a.day:g}")
    for line, measured in series[:-1]:
        if measured.size.area_cm2 == 0:
            raise RefusedInputError(f"line {line}", "an area of 0 may stand in the last row only")
    for (_, a), (line, b) in pairwise(series):
        if _units_changed(a, b):
            raise RefusedInputError(
                f"line {line}",
                f"from {a.size.area_cm2:.3g} to {b.size.area_cm2:.3g} cm2 in {b.day - a.day:g} "
                "days: are millimetres mixed with centimetres?",
            )


def _units_changed(a: Measured, b: Measured) -> bool:
    before, after = a.size, b.size
    if after.area_cm2 >= _UNIT_FOLD * before.area_cm2:
        return before.area_cm2 >= 1
    per_day = (before.radius_mm - after.radius_mm) / (b.day - a.day)
    shrunk = 0 < after.area_cm2 * _UNIT_FOLD <= before.area_cm2
    return shrunk and per_day > _UNIT_MM_PER_DAY
