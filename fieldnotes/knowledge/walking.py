"""Which region an arrow key leads to on the body map, and how the opposite key leads back."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final, Literal

from fieldnotes.knowledge.bodymap import load_view, point_in

if TYPE_CHECKING:
    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.knowledge.polygons import Point

Direction = Literal["left", "right", "up", "down"]

_STEPS: Final[dict[Direction, Point]] = {
    "left": (-1, 0),
    "right": (1, 0),
    "up": (0, 1),
    "down": (0, -1),
}
OPPOSITE: Final[dict[Direction, Direction]] = {
    "left": "right",
    "right": "left",
    "up": "down",
    "down": "up",
}
_FARTHEST: Final = 0.7  # of the larger side of the view
_REMEMBERED: Final = 30


@dataclass(frozen=True)
class Walk:
    """Where one stands and the steps that led there, each as (region left, direction)."""

    region_id: str
    trail: tuple[tuple[str, Direction], ...] = ()

    def step(self, view: View, direction: Direction) -> Walk:
        """Go to the region in that direction; the opposite of the last step goes back to it."""
        if self.trail and direction == OPPOSITE[self.trail[-1][1]]:
            return Walk(self.trail[-1][0], self.trail[:-1])
        reached = neighbour(view, self.region_id, direction)
        if reached == self.region_id:
            return self
        return Walk(reached, (*self.trail, (self.region_id, direction))[-_REMEMBERED:])


@cache
def _middles(key: str) -> dict[str, Point]:
    view = load_view(key)
    return {region_id: point_in(view, region_id) for region_id in view.region_ids}


def _cost(start: Point, end: Point, step: Point) -> float:
    """Give how far a region lies off the direction; infinite if it lies the other way."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    along = dx * step[0] + dy * step[1]
    across = abs(dx * step[1] - dy * step[0])
    return math.inf if along <= 0.05 or across > 1.2 * along else along + 2 * across


def neighbour(view: View, region_id: str, direction: Direction) -> str:
    """Give the region an arrow key leads to; the same one where there is nothing further."""
    middles = _middles(view.key)
    start = middles[region_id]
    step = _STEPS[direction]
    costs = {other: _cost(start, end, step) for other, end in middles.items()}
    best = min(costs, key=lambda other: costs[other])
    left, bottom, right, top = view.bounds
    return best if costs[best] < _FARTHEST * max(right - left, top - bottom) else region_id
