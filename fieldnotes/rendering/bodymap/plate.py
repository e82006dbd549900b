"""The sheet a printed picture stands on: the drawing, margins with the wounds' letters, words."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from fieldnotes.knowledge.bodymap import shape_at
from fieldnotes.knowledge.language import ENGLISH
from fieldnotes.knowledge.polygons import edges as sides_of
from fieldnotes.knowledge.polygons import inside, to_segment
from fieldnotes.rendering.bodymap.captions import caption_parts, edges
from fieldnotes.rendering.bodymap.grid import MARGIN

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.knowledge.language import Language
    from fieldnotes.knowledge.polygons import Point
    from fieldnotes.rendering.bodymap.wounds import WoundMark

# All in units: hundredths of the drawing's longer side.
SIDE: Final = 12.0  # margin at left and right, for letters
LETTER: Final = 4.4  # half the height of a letter's disc
CLEAR: Final = 1.2  # between a disc and the body
LEAST_WIDE: Final = 0.78  # of the height, so that a limb leaves room for its words
TURNS: Final = 24


@dataclass(frozen=True)
class Plate:
    """Edges of the drawing with its margins in cm of the view, and the words around it.

    `between` are the words at left, middle and right below it, `under` the caption in lines;
    a unit is a hundredth of the drawing's longer side.
    """

    left: float
    bottom: float
    right: float
    top: float
    unit_cm: float
    above: str
    between: tuple[str, str, str]
    under: tuple[str, ...]

    @property
    def wide_cm(self) -> float:
        """Give the width."""
        return self.right - self.left

    @property
    def high_cm(self) -> float:
        """Give the height, words not counted."""
        return self.top - self.bottom

    @property
    def rows_below(self) -> int:
        """Give how many lines of words stand below the drawing."""
        return any(self.between) + len(self.under)


def plate_of(view: View, language: Language = ENGLISH, title: str = "") -> Plate:
    """Lay out a view as an owner reads it; a `title` stands in place of its caption."""
    left, bottom, right, top = view.bounds
    unit = max(right - left, top - bottom) / 100
    high = top - bottom + 2 * MARGIN * 100 * unit
    side = max(SIDE * unit, (LEAST_WIDE * high - right + left) / 2)
    words = edges(view, lay=True)
    first, last, above, middle = (language.say(word) if word else "" for word in words)
    told = tuple(language.say(part) for part in caption_parts(view))
    if right - left > LEAST_WIDE * high:
        told = (", ".join(told),)
    pad = MARGIN * 100 * unit
    return Plate(
        left - side,
        bottom - pad,
        right + side,
        top + pad,
        unit,
        above,
        (first, middle, last),
        (title,) if title else told,
    )


def letter_spots(plate: Plate, view: View, wounds: Sequence[WoundMark]) -> tuple[Point, ...]:
    """Give where each wound's letter stands: the nearest place off the body, clear of the others.

    Where there is none, as beside a wound off the drawing, up and to the right of the wound.
    """
    found: list[Point] = []
    for mark in wounds:
        free = (p for p in _around(plate, mark) if _is_free(p, plate, view, found))
        off = 2 * LETTER * plate.unit_cm
        found.append(next(free, (mark.x_cm + off, mark.y_cm + off)))
    return tuple(found)


def lead(view: View, mark: WoundMark, spot: Point) -> tuple[Point, Point]:
    """Give the line from the edge of a wound, where that lies on the body, to its letter."""
    shown = [p for p in mark.ring if shape_at(view, *p)] or [(mark.x_cm, mark.y_cm)]
    return min(shown, key=lambda p: math.dist(p, spot)), spot


def _around(plate: Plate, mark: WoundMark) -> list[Point]:
    """Give places on the plate about a wound, nearest first."""
    unit, edge = plate.unit_cm, LETTER * plate.unit_cm
    places = [
        (
            mark.x_cm + far * 2 * unit * math.cos(2 * math.pi * turn / TURNS),
            mark.y_cm + far * 2 * unit * math.sin(2 * math.pi * turn / TURNS),
        )
        for far in range(3, 50)
        for turn in range(TURNS)
    ]
    return [
        (x, y)
        for x, y in places
        if plate.left + edge <= x <= plate.right - edge
        and plate.bottom + edge <= y <= plate.top - edge
    ]


def _is_free(spot: Point, plate: Plate, view: View, taken: Sequence[Point]) -> bool:
    """Say whether a letter there covers neither body nor another letter."""
    reach = (LETTER + CLEAR) * plate.unit_cm
    if any(math.dist(spot, other) < 2 * reach for other in taken):
        return False
    rings = (
        view.outline,
        *view.far_outlines,
        *(d.points for d in view.details if d.kind == "hair"),
    )
    if any(inside(ring, *spot) for ring in rings):
        return False
    return all(to_segment(*spot, a, b) >= reach for ring in rings for a, b in sides_of(ring))
