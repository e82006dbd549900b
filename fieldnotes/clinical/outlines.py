"""A traced wound edge as a closed run of points: area, length, and what makes it unusable."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING, TypeAlias

from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

Point: TypeAlias = tuple[float, float]
Edge: TypeAlias = tuple[Point, Point]

MOST_POINTS = 5_000


def enclosed_area(points: Sequence[Point]) -> float:
    """Give the area inside an outline (shoelace), in the square of the points' unit."""
    # Reckoned from the first point, so that an outline far from the origin loses no digits.
    x0, y0 = points[0]
    turns = ((a[0] - x0) * (b[1] - y0) - (b[0] - x0) * (a[1] - y0) for a, b in _edges(points))
    return abs(math.fsum(turns)) / 2


def outline_length(points: Sequence[Point]) -> float:
    """Give the length round an outline, closed from the last point to the first."""
    return math.fsum(math.dist(a, b) for a, b in _edges(points))


def refuse_bad_outline(points: Sequence[Point]) -> None:
    """Raise RefusedInputError unless the points go once round an area without crossing."""
    if len(points) > MOST_POINTS:
        raise RefusedInputError("outline", f"more than {MOST_POINTS:,} points")
    if not all(math.isfinite(x) and math.isfinite(y) for x, y in points):
        raise RefusedInputError("outline", "a point that is no number")
    if len(set(points)) < 3:
        raise RefusedInputError("outline", "at least three different points are needed")
    crossing = _crossing(points)
    if crossing is not None:
        x, y = crossing
        raise RefusedInputError("outline", f"the line crosses itself near {x:g},{y:g}")
    if enclosed_area(points) == 0:
        raise RefusedInputError("outline", "all points lie on one line")


def _edges(points: Sequence[Point]) -> Iterator[Edge]:
    yield from pairwise(points)
    yield points[-1], points[0]


def _crossing(points: Sequence[Point]) -> Point | None:
    """Give a point of the first edge found to cross another, None if the outline is simple."""
    # Sorted by their left end, an edge meets only those that begin before it ends.
    edges = sorted((e for e in _edges(points) if e[0] != e[1]), key=_left)
    for i, edge in enumerate(edges):
        right = max(edge[0][0], edge[1][0])
        for other in edges[i + 1 :]:
            if _left(other) > right:
                break
            if _cross(edge, other):
                return edge[0]
    return None


def _left(edge: Edge) -> float:
    return min(edge[0][0], edge[1][0])


def _side(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _cross(first: Edge, second: Edge) -> bool:
    """Say whether two edges cross between their ends; touching ends are no crossing."""
    (a, b), (c, d) = first, second
    return _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0
