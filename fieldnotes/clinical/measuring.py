"""The size of a wound from what was measured: area in cm2, perimeter in cm, depth in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.clinical.outlines import Point, enclosed_area, outline_length, refuse_bad_outline
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.units import MM_PER_CM
from fieldnotes.domain.wounds import Measuring

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fieldnotes.domain.wounds import Finding

# No single wound of a horse is larger; beyond it millimetres were typed for centimetres.
MOST_LENGTH_CM = 150.0
MOST_AREA_CM2 = 10_000.0
MOST_PERIMETER_CM = 1_000.0
MOST_DEPTH_MM = 400.0
# A rounded perimeter may undercut the circle's, the shortest there is, by this much.
_ROUNDING_CM = 0.1
_ROUNDING_SHARE = 0.1


@dataclass(frozen=True)
class Size:
    """A wound's size and how it was got; length and width only where they were measured."""

    area_cm2: float
    perimeter_cm: float
    measuring: Measuring
    length_cm: float | None = None
    width_cm: float | None = None
    depth_mm: float | None = None

    @property
    def radius_mm(self) -> float:
        """Radius of the circle of the same area, in mm."""
        return MM_PER_CM * math.sqrt(self.area_cm2 / math.pi)


def within(field: str, value: float, most: float, unit: str) -> float:
    """Give a size back if it can be a horse's wound; RefusedInputError otherwise."""
    if not math.isfinite(value):
        raise RefusedInputError(field, f"{value} is no size")
    if value < 0:
        raise RefusedInputError(field, f"{value:g} {unit}: a size cannot be negative")
    if value > most:
        raise RefusedInputError(
            field, f"{value:g} {unit} is too large for a wound (at most {most:g} {unit})"
        )
    return value


def ellipse_perimeter_cm(length_cm: float, width_cm: float) -> float:
    """Give an ellipse's perimeter by Ramanujan's second formula (1914)."""
    a, b = length_cm / 2, width_cm / 2
    if a + b == 0:
        return 0.0
    h = ((a - b) / (a + b)) ** 2
    return math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))


def circle_perimeter_cm(area_cm2: float) -> float:
    """Give the perimeter of a circle of this area: the shortest any wound of it can have."""
    return 2 * math.sqrt(math.pi * area_cm2)


def ellipse(length_cm: float, width_cm: float, depth_mm: float | None = None) -> Size:
    """Size a wound as an ellipse of two diameters: area pi/4 x L x W."""
    length, width = _sides(length_cm, width_cm)
    area = math.pi / 4 * length * width
    perimeter = ellipse_perimeter_cm(length, width)
    return Size(area, perimeter, Measuring.ELLIPSE, length, width, _depth(depth_mm))


def rectangle(length_cm: float, width_cm: float, depth_mm: float | None = None) -> Size:
    """Size a wound as length x width; over-reads an oval by 27 %."""
    length, width = _sides(length_cm, width_cm)
    perimeter = 2 * (length + width)
    return Size(length * width, perimeter, Measuring.RECTANGLE, length, width, _depth(depth_mm))


def traced(points_cm: Sequence[Point], depth_mm: float | None = None) -> Size:
    """Size a traced outline, points in cm in order round the edge."""
    refuse_bad_outline(points_cm)
    area = within("outline", enclosed_area(points_cm), MOST_AREA_CM2, "cm2")
    perimeter = within("outline", outline_length(points_cm), MOST_PERIMETER_CM, "cm")
    return Size(area, perimeter, Measuring.TRACING, depth_mm=_depth(depth_mm))


def squares(count: float, square_cm: float, depth_mm: float | None = None) -> Size:
    """Size a wound by squares counted on a sheet; half-covered squares count one half."""
    within("squares", count, math.inf, "squares")
    if not 0 < square_cm <= MOST_LENGTH_CM:
        raise RefusedInputError("square side", f"{square_cm:g} cm is no side of a square")
    area = within("squares", count * square_cm**2, MOST_AREA_CM2, "cm2")
    perimeter = circle_perimeter_cm(area)
    return Size(area, perimeter, Measuring.SQUARES, depth_mm=_depth(depth_mm))


def given(
    area_cm2: float, perimeter_cm: float | None = None, depth_mm: float | None = None
) -> Size:
    """Size a wound by its area; without a perimeter that of a circle is taken."""
    area = within("area", area_cm2, MOST_AREA_CM2, "cm2")
    shortest = circle_perimeter_cm(area)
    if perimeter_cm is None:
        return Size(area, shortest, Measuring.GIVEN, depth_mm=_depth(depth_mm))
    perimeter = within("perimeter", perimeter_cm, MOST_PERIMETER_CM, "cm")
    if perimeter < shortest * (1 - _ROUNDING_SHARE) - _ROUNDING_CM:
        raise RefusedInputError(
            "perimeter",
            f"{perimeter:g} cm cannot go round {area:g} cm2 (a circle of it has {shortest:.1f} cm)",
        )
    return Size(area, perimeter, Measuring.GIVEN, depth_mm=_depth(depth_mm))


def finding_size(finding: Finding) -> Size | None:
    """Give the size recorded in a finding, None if none was taken."""
    length, width = finding.length_mm, finding.width_mm
    if finding.area_cm2 is not None:
        size = given(finding.area_cm2, finding.perimeter_cm, finding.depth_mm)
        return Size(size.area_cm2, size.perimeter_cm, _area_method(finding), depth_mm=size.depth_mm)
    if length is None or width is None:
        return None
    shape = rectangle if finding.measuring is Measuring.RECTANGLE else ellipse
    return shape(length / MM_PER_CM, width / MM_PER_CM, finding.depth_mm)


def mixed_methods(sizes: Sequence[Size]) -> tuple[Measuring, ...]:
    """Give the methods used in a series if there is more than one, else nothing."""
    methods = tuple(dict.fromkeys(size.measuring for size in sizes))
    return methods if len(methods) > 1 else ()


def mixed_words(findings: Iterable[Finding]) -> str:
    """Say that a wound was measured in more than one way; empty if it was not."""
    sizes = [size for f in findings if (size := _size_if_right(f)) is not None and size.area_cm2]
    methods = mixed_methods(sizes)
    if not methods:
        return ""
    names = ", ".join(method.value for method in methods)
    return f"measured in different ways ({names}): a change between them may be the method's"


def _size_if_right(finding: Finding) -> Size | None:
    """Give a size, None for one that cannot be; the check of its field says so."""
    try:
        return finding_size(finding)
    except RefusedInputError:
        return None


def _area_method(finding: Finding) -> Measuring:
    from_sides = (Measuring.ELLIPSE, Measuring.RECTANGLE)
    return Measuring.GIVEN if finding.measuring in from_sides else finding.measuring


def _sides(length_cm: float, width_cm: float) -> tuple[float, float]:
    return (
        within("length", length_cm, MOST_LENGTH_CM, "cm"),
        within("width", width_cm, MOST_LENGTH_CM, "cm"),
    )


def _depth(depth_mm: float | None) -> float | None:
    return None if depth_mm is None else within("depth", depth_mm, MOST_DEPTH_MM, "mm")
