"""Points, closed rings and distances in the plane, in whatever unit the caller uses."""

from __future__ import annotations

import math
from itertools import pairwise

Point = tuple[float, float]
Ring = tuple[Point, ...]


def edges(ring: Ring) -> tuple[tuple[Point, Point], ...]:
    """Give the sides of a ring whose first point is not repeated."""
    return tuple(pairwise((*ring, ring[0])))


def inside(ring: Ring, x: float, y: float) -> bool:
    """Say whether a point lies within the ring (even-odd rule)."""
    odd = False
    for (ax, ay), (bx, by) in edges(ring):
        if (ay > y) != (by > y) and x < (bx - ax) * (y - ay) / (by - ay) + ax:
            odd = not odd
    return odd


def area(ring: Ring) -> float:
    """Give the area enclosed, never negative."""
    return abs(sum(ax * by - bx * ay for (ax, ay), (bx, by) in edges(ring))) / 2


def crossings(ring: Ring, y: float) -> list[float]:
    """Give where a level line cuts the ring, from left to right."""
    return sorted(
        ax + (y - ay) * (bx - ax) / (by - ay)
        for (ax, ay), (bx, by) in edges(ring)
        if (ay > y) != (by > y)
    )


def middle(ring: Ring) -> Point:
    """Give a point well inside: the middle of the widest stretch at half of the height."""
    low, high = min(y for _, y in ring), max(y for _, y in ring)
    best = (0.0, ring[0])
    for step in (0.5, 0.4, 0.6, 0.3, 0.7):
        y = low + (high - low) * step + 1e-7
        cuts = crossings(ring, y)
        for left, right in zip(cuts[::2], cuts[1::2], strict=True):
            width = (right - left) * (1.05 if step == 0.5 else 1.0)
            best = max(best, (width, ((left + right) / 2, y)))
    return best[1]


def to_segment(x: float, y: float, a: Point, b: Point) -> float:
    """Give the distance from a point to a stretch of line."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    length2 = dx * dx + dy * dy
    t = 0.0 if not length2 else ((x - a[0]) * dx + (y - a[1]) * dy) / length2
    t = min(1.0, max(0.0, t))
    return math.hypot(x - a[0] - t * dx, y - a[1] - t * dy)


def gap(one: Ring, other: Ring) -> float:
    """Give the least distance between two rings, 0 if they touch or one holds the other."""
    if overlapping(one, other):
        return 0.0
    return min(
        min(to_segment(*p, a, b) for p in ring for a, b in edges(against))
        for ring, against in ((one, other), (other, one))
    )


def overlapping(one: Ring, other: Ring) -> bool:
    """Say whether two rings share any point."""
    if _apart(one, other) or _apart(other, one):
        return False
    if inside(one, *other[0]) or inside(other, *one[0]):
        return True
    return any(_cross(a, b, c, d) for a, b in edges(one) for c, d in edges(other))


def _apart(one: Ring, other: Ring) -> bool:
    """Say whether one ring lies wholly left of or wholly below the other."""
    return any(max(p[axis] for p in one) < min(p[axis] for p in other) for axis in (0, 1))


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    return _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0


def ellipse(x: float, y: float, length: float, width: float, angle_deg: float) -> Ring:
    """Give an ellipse around a point; the angle turns its length up from the x axis."""
    turn = math.radians(angle_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    around = (2 * math.pi * step / 32 for step in range(32))
    flat = [(length / 2 * math.cos(t), width / 2 * math.sin(t)) for t in around]
    return tuple((x + u * cos - v * sin, y + u * sin + v * cos) for u, v in flat)


def placed(ring: Ring, x: float, y: float, angle_deg: float) -> Ring:
    """Give the ring moved so that the middle of its extent stands on a point, and turned there."""
    turn = math.radians(angle_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    xs, ys = [p[0] for p in ring], [p[1] for p in ring]
    mid_x, mid_y = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    flat = [(px - mid_x, py - mid_y) for px, py in ring]
    return tuple((x + u * cos - v * sin, y + u * sin + v * cos) for u, v in flat)
