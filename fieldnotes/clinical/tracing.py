"""A wound traced on a photograph: two points of a ruler, its length, then points round the edge."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from fieldnotes.clinical.measuring import Size, traced
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.units import MM_PER_CM
from fieldnotes.domain.wounds import Finding, Measuring

if TYPE_CHECKING:
    from fieldnotes.clinical.outlines import Point

LEAST_RULER_PX = 10.0
MOST_RULER_CM = 200.0
DIGITS = 3


class Step(StrEnum):
    """What is to be placed or said next."""

    RULER = "ruler"
    LENGTH = "length"
    EDGE = "edge"
    CLOSED = "closed"


@dataclass(frozen=True)
class Tracing:
    """Points placed on a picture, in its pixels, y downward; frozen, each step gives a new one."""

    ruler: tuple[Point, ...] = ()
    ruler_cm: float | None = None
    edge: tuple[Point, ...] = ()
    closed: bool = False

    @property
    def step(self) -> Step:
        """What comes next."""
        if len(self.ruler) < 2:
            return Step.RULER
        if self.ruler_cm is None:
            return Step.LENGTH
        return Step.CLOSED if self.closed else Step.EDGE

    def placed(self, point: Point) -> Tracing:
        """Place the next point; RefusedInputError if the ruler's points lie on each other."""
        if self.step is Step.RULER:
            if self.ruler and math.dist(self.ruler[0], point) < LEAST_RULER_PX:
                raise RefusedInputError("ruler", "place the second point further along the ruler")
            return replace(self, ruler=(*self.ruler, point))
        if self.step is Step.EDGE and point not in self.edge[-1:]:
            return replace(self, edge=(*self.edge, point))
        return self

    def measured(self, ruler_cm: float) -> Tracing:
        """Say how far the ruler's points lie apart."""
        if not 0 < ruler_cm <= MOST_RULER_CM:
            raise RefusedInputError(
                "ruler", f"{ruler_cm:g} cm is no length of a ruler in a picture"
            )
        return replace(self, ruler_cm=ruler_cm)

    def undone(self) -> Tracing:
        """Take back the last thing done."""
        if self.closed:
            return replace(self, closed=False)
        if self.edge:
            return replace(self, edge=self.edge[:-1])
        if self.ruler_cm is not None:
            return replace(self, ruler_cm=None)
        return replace(self, ruler=self.ruler[:-1])

    def finished(self) -> Tracing:
        """Close the edge; RefusedInputError says why it goes round nothing."""
        traced(self.outline_cm)
        return replace(self, closed=True)

    @property
    def cm_per_px(self) -> float | None:
        """The scale, once the ruler is measured."""
        if self.ruler_cm is None or len(self.ruler) < 2:
            return None
        return self.ruler_cm / math.dist(*self.ruler)

    @property
    def outline_cm(self) -> tuple[Point, ...]:
        """The edge in cm, counted from its own left and bottom, y upward."""
        scale = self.cm_per_px
        if scale is None or not self.edge:
            return ()
        left, bottom = min(x for x, _ in self.edge), max(y for _, y in self.edge)
        return tuple(
            (round((x - left) * scale, DIGITS), round((bottom - y) * scale, DIGITS))
            for x, y in self.edge
        )

    def size(self) -> tuple[Size | None, str]:
        """Give the size of the edge so far, or why it has none yet."""
        if len(self.edge) < 3:
            return None, ""
        try:
            return traced(self.outline_cm), ""
        except RefusedInputError as error:
            return None, error.reason

    def finding(self, wound: str) -> Finding:
        """Give the size as a finding, the outline kept."""
        size = traced(self.outline_cm)
        return Finding(
            wound,
            area_cm2=size.area_cm2,
            perimeter_cm=size.perimeter_cm,
            measuring=Measuring.TRACING,
            outline_cm=self.outline_cm,
        )


def ruler_length_cm(text: str) -> float:
    """Read a length such as 10, 10 cm, 100 mm or 4 in."""
    units = {"mm": 1 / MM_PER_CM, "cm": 1.0, "in": 2.54, "": 1.0}
    figure = text.strip().casefold().replace(",", ".")
    unit = next((u for u in ("mm", "cm", "in") if figure.endswith(u)), "")
    try:
        value = float(figure.removesuffix(unit))
    except ValueError as error:
        raise RefusedInputError("ruler", f"'{text}' is no length in cm") from error
    if not math.isfinite(value):
        raise RefusedInputError("ruler", f"'{text}' is no length in cm")
    return value * units[unit]
