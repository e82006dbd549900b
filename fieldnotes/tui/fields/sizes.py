"""A wound's size in one line: sides, an area, squares counted on a sheet, or a file of points."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from fieldnotes.clinical.measuring import Size, ellipse, given, rectangle, squares, traced
from fieldnotes.clinical.series import read_outline
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.wounds import Measuring
from fieldnotes.tui.fields.field import Field
from fieldnotes.tui.fields.measures import number, plain

if TYPE_CHECKING:
    from fieldnotes.knowledge.limits import Limit
    from fieldnotes.tui.fields.row import FieldRow

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_UNIT = r"\s*(mm|cm|in)?"
_SIDES = re.compile(
    rf"{_NUMBER}(?:\s*[x\u00d7*]\s*{_NUMBER})?(?:\s*[x\u00d7*]\s*{_NUMBER})?{_UNIT}"
    r"(?:\s*\b(rectangle|rect|oval|ellipse)\b)?",
    re.ASCII | re.IGNORECASE,
)
_AREA = re.compile(rf"{_NUMBER}\s*(?:cm2|cm\u00b2|sq\.?\s*cm)", re.IGNORECASE)
_SQUARES = re.compile(
    rf"{_NUMBER}\s*(?:squares?|sq)(?:\s+(?:of\s+)?{_NUMBER}{_UNIT})?", re.IGNORECASE
)
_EDGE = re.compile(r"edge((?:\s+-?\d+(?:\.\d+)?,-?\d+(?:\.\d+)?)+)", re.ASCII)
_FILE = re.compile(r"@\s*([^;]+?)\s*(?=;|$)")
_MORE = re.compile(rf"\s*[;,]?\s*{_NUMBER}{_UNIT}\s*(deep|round)", re.IGNORECASE)
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}
_UNITS = re.compile(r"(?<![a-z])(mm|cm|in)(?![a-z0-9])", re.ASCII | re.IGNORECASE)
_MOST_FILE_BYTES = 2_000_000
SQUARE_CM = 0.5
FORMS = "8x3 (x1 deep), 8x3 rect, 12 cm2, 37 squares of 5 mm, @points.csv; then 14 round, 0.5 deep"


@dataclass(frozen=True)
class TypedSize:
    """A wound's size as typed, and how it was got; None = not taken."""

    length_mm: float | None = None
    width_mm: float | None = None
    depth_mm: float | None = None
    measuring: Measuring = Measuring.ELLIPSE
    area_cm2: float | None = None
    perimeter_cm: float | None = None
    outline_cm: tuple[tuple[float, float], ...] = ()
    squares: float | None = None
    square_mm: float | None = None

    def answer(self, usual: Measuring = Measuring.ELLIPSE) -> str:
        """Give the text a form keeps, in cm; only sides, since a map changes no other.

        `usual` is the shape the field reads where none is written.
        """
        sides = (self.length_mm, self.width_mm, self.depth_mm)
        named = {Measuring.RECTANGLE: " rect", Measuring.ELLIPSE: " oval"}
        shape = "" if self.measuring is usual else named.get(self.measuring, "")
        return " x ".join(plain(mm / 10) for mm in sides if mm is not None) + shape

    def size(self) -> Size | None:
        """Give area and perimeter; None if nothing or one side only was measured."""
        if self.area_cm2 is not None:
            return given(self.area_cm2, self.perimeter_cm, self.depth_mm)
        if self.length_mm is None or self.width_mm is None:
            return None
        shape = rectangle if self.measuring is Measuring.RECTANGLE else ellipse
        return shape(self.length_mm / 10, self.width_mm / 10, self.depth_mm)


@dataclass(frozen=True, kw_only=True)
class SizeField(Field):
    """The size of a wound, in cm unless a unit is written.

    `limits` are the bounds of the three sides in mm; a side outside is refused in the unit typed.
    Two sides are read as `shape` unless the text says which.
    """

    limits: tuple[Limit, ...] = ()
    shape: Measuring = Measuring.ELLIPSE

    def _read(self, text: str) -> TypedSize:
        text = text.strip()
        if not text:
            return TypedSize()
        try:
            return self._measured(text)
        except RefusedInputError as error:
            raise RefusedInputError(self.key, error.reason) from error

    def _measured(self, text: str) -> TypedSize:
        for pattern, read in (
            (_EDGE, _traced),
            (_FILE, _outline),
            (_AREA, _area),
            (_SQUARES, _counted),
            (_SIDES, self._sides),
        ):
            found = pattern.match(text)
            more = None if found is None else _rest(text[found.end() :])
            if found is not None and more is not None:
                return self._with(read(found), more)
        if len({unit.casefold() for unit in _UNITS.findall(text)}) > 1:
            self.refuse(f"'{text}': one unit for all sides, at the end, such as 80 x 30 mm")
        raise RefusedInputError(self.key, f"'{text}' is not a size like 8 x 3 or 8x3x1 cm")

    def _with(self, size: TypedSize, more: dict[str, float]) -> TypedSize:
        if "round" in more:
            size = replace(size, perimeter_cm=more["round"] / 10)
        if "deep" in more:
            size = replace(size, depth_mm=more["deep"])
        if size.perimeter_cm is not None and size.area_cm2 is not None:
            given(size.area_cm2, size.perimeter_cm)
        return size

    def _sides(self, found: re.Match[str]) -> TypedSize:
        unit = (found[4] or "cm").casefold()
        sides = [number(s) * _MM[unit] if s else None for s in found.groups()[:3]]
        for limit, mm in zip(self.limits, sides, strict=False):
            if mm is not None and limit.fault(mm):
                self.refuse(_outside(limit, mm, unit))
        said = (found[5] or "").casefold()
        shape = Measuring.RECTANGLE if said.startswith("rect") else Measuring.ELLIPSE
        way = shape if said else self.shape
        return TypedSize(sides[0], sides[1], sides[2], measuring=way)

    def shown(self, answer: str) -> str:
        """Give a traced edge in words; its points are nothing to read."""
        found = _EDGE.match(answer)
        return f"traced, {len(found[1].split())} points" if found else answer

    def echo(self, text: str) -> str:
        """Give what was measured in words, and the area it comes to."""
        try:
            size = self._read(text)
            area = size.size()
        except RefusedInputError:
            return ""
        sides = (size.length_mm, size.width_mm, size.depth_mm)
        parts = zip(("long", "wide", "deep"), sides, strict=True)
        words = ", ".join(f"{mm / 10:g} cm {word}" for word, mm in parts if mm is not None)
        if area is None:
            return words
        way = "given" if size.measuring is Measuring.GIVEN else size.measuring.value
        round_ = f", {area.perimeter_cm:.1f} cm round" if size.perimeter_cm is not None else ""
        return "; ".join(p for p in (f"{area.area_cm2:.1f} cm2 ({way}){round_}", words) if p)


def _rest(text: str) -> dict[str, float] | None:
    """Give the depth and way round written behind a size in mm; None if it is anything else."""
    found: dict[str, float] = {}
    while text.strip():
        match = _MORE.match(text)
        if match is None:
            return None
        found[match[3].casefold()] = number(match[1]) * _MM[(match[2] or "cm").casefold()]
        text = text[match.end() :]
    return found


def _area(found: re.Match[str]) -> TypedSize:
    area = given(number(found[1])).area_cm2
    return TypedSize(area_cm2=area, measuring=Measuring.GIVEN)


def _counted(found: re.Match[str]) -> TypedSize:
    side_mm = number(found[2]) * _MM[(found[3] or "cm").casefold()] if found[2] else 10 * SQUARE_CM
    count = number(found[1])
    area = squares(count, side_mm / 10).area_cm2
    return TypedSize(area_cm2=area, measuring=Measuring.SQUARES, squares=count, square_mm=side_mm)


def _outline(found: re.Match[str]) -> TypedSize:
    """Read a file of x,y points in cm round the edge."""
    path = Path(found[1]).expanduser()
    try:
        if not path.is_file():
            raise RefusedInputError("", f"there is no file {found[1]}")
        if path.stat().st_size > _MOST_FILE_BYTES:
            raise RefusedInputError("", f"{found[1]} is too large for a file of points")
        points = read_outline(path.read_text("utf-8"))
    except (OSError, ValueError) as error:  # ValueError: no UTF-8, a null byte in the name
        raise RefusedInputError("", f"{found[1]} cannot be read") from error
    return _from_outline(points)


def _traced(found: re.Match[str]) -> TypedSize:
    """Read the points a photograph gave back, in cm."""
    pairs = (pair.split(",") for pair in found[1].split())
    return _from_outline(tuple((float(x), float(y)) for x, y in pairs))


def _from_outline(points: tuple[tuple[float, float], ...]) -> TypedSize:
    size = traced(points)
    return TypedSize(
        area_cm2=size.area_cm2,
        perimeter_cm=size.perimeter_cm,
        measuring=Measuring.TRACING,
        outline_cm=points,
    )


def edge_answer(outline_cm: tuple[tuple[float, float], ...]) -> str:
    """Give the text a form keeps of a traced edge."""
    return "edge " + " ".join(f"{x:.3f},{y:.3f}" for x, y in outline_cm)


def _outside(limit: Limit, mm: float, unit: str) -> str:
    value, least, most = (f"{plain(x / _MM[unit])}" for x in (mm, limit.least, limit.most))
    return f"{limit.words} {value} {unit} cannot be right ({least} to {most} {unit})"


def size_on(row: FieldRow | None) -> TypedSize | None:
    """Give the wound's size typed on the page, if it can be read."""
    try:
        return row.field.read(row.answer) if row is not None else None
    except RefusedInputError:
        return None
