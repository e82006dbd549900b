"""Which region or decoration each small square of a picture shows: scan-line filling."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import ceil
from typing import TYPE_CHECKING, Final

from fieldnotes.knowledge.bodymap import load_view

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.knowledge.polygons import Point, Ring

EMPTY = -1
MARGIN = 0.02
STOPS: Final = 4  # a moving picture stands at every quarter of its width and height
Grid = tuple[tuple[int, ...], ...]


@dataclass(frozen=True)
class Camera:
    """Which part of a view is on show: `zoom` times as large as the whole, about a point."""

    zoom: float = 1.0
    x_cm: float = 0.0
    y_cm: float = 0.0


WHOLE: Final = Camera()


@dataclass(frozen=True)
class Frame:
    """How centimetres of a view fall on a picture of `width` x `height` squares."""

    left_cm: float
    top_cm: float
    step_cm: float
    width: int
    height: int

    def spot(self, x_cm: float, y_cm: float) -> tuple[int, int]:
        """Give column and row of a point."""
        column = int((x_cm - self.left_cm) // self.step_cm)
        return column, int((self.top_cm - y_cm) // self.step_cm)

    def centre(self, column: float, row: float) -> tuple[float, float]:
        """Give the point in the middle of a square."""
        return (
            self.left_cm + (column + 0.5) * self.step_cm,
            self.top_cm - (row + 0.5) * self.step_cm,
        )


def _first(wanted: float, low: float, high: float, seen: float) -> float:
    """Give where a stretch of `seen` cm begins: about `wanted`, with no more air than needed."""
    if seen >= high - low:
        return (low + high - seen) / 2
    return min(max(wanted - seen / 2, low), high - seen)


def fit(view: View, width: int, height: int, camera: Camera = WHOLE) -> Frame:
    """Fit a view into width x height squares; one enlarged shows the part about the camera."""
    left, bottom, right, top = view.bounds
    pad = MARGIN * max(right - left, top - bottom)
    left, bottom, right, top = left - pad, bottom - pad, right + pad, top + pad
    step = max((right - left) / max(1, width), (top - bottom) / max(1, height)) / camera.zoom
    wide, high = step * width, step * height
    x = _first(camera.x_cm, left, right, wide)
    return Frame(x, _first(camera.y_cm, bottom, top, high) + high, step, width, height)


def aimed(view: View, width: int, height: int, zoom: float, point: Point) -> Camera:
    """Point a camera at a place; it moves in steps, so that the picture rests while one nudges."""
    if zoom == 1:
        return WHOLE
    step = fit(view, width, height).step_cm / zoom
    stops = (step * width / STOPS, step * height / STOPS)
    x, y = (round(at / stop) * stop for at, stop in zip(point, stops, strict=True))
    return Camera(zoom, round(x, 3), round(y, 3))


def spans(ring: Ring, frame: Frame) -> list[tuple[int, int, int]]:
    """Give (row, first column, end column) of the squares whose middle lies in the ring."""
    found = []
    for row, cuts in _cuts(ring, frame).items():
        cuts.sort()
        for start, end in zip(cuts[::2], cuts[1::2], strict=True):
            first, last = max(0, round(start)), min(frame.width, round(end))
            if first < last:
                found.append((row, first, last))
    return found


def _cuts(ring: Ring, frame: Frame) -> dict[int, list[float]]:
    """Give the columns where each row's middle line crosses the ring, side by side."""
    points = [
        ((x - frame.left_cm) / frame.step_cm, (frame.top_cm - y) / frame.step_cm - 0.5)
        for x, y in ring
    ]
    found: dict[int, list[float]] = {}
    for (ax, ay), (bx, by) in pairwise((*points, points[0])):
        slope = (bx - ax) / (by - ay) if by != ay else 0.0
        low, high = min(ay, by), max(ay, by)
        for row in range(max(0, ceil(low)), min(frame.height, ceil(high))):
            found.setdefault(row, []).append(ax + (row - ay) * slope)
    return found


def paint(grid: list[list[int]], ring: Ring, frame: Frame, value: int) -> None:
    """Write a value into every square of the ring."""
    for row, first, last in spans(ring, frame):
        grid[row][first:last] = [value] * (last - first)


def trail(points: Ring, frame: Frame) -> Iterator[tuple[int, int]]:
    """Give column and row of each square an open line passes, one square wide."""
    for (ax, ay), (bx, by) in pairwise(points):
        steps = max(1, ceil(max(abs(bx - ax), abs(by - ay)) / frame.step_cm))
        for n in range(steps + 1):
            share = n / steps
            column, row = frame.spot(ax + (bx - ax) * share, ay + (by - ay) * share)
            if 0 <= row < frame.height and 0 <= column < frame.width:
                yield column, row


def stroke(grid: list[list[int]], points: Ring, frame: Frame, value: int) -> None:
    """Write a value along an open line."""
    for column, row in trail(points, frame):
        grid[row][column] = value


@lru_cache(maxsize=32)
def shape_grid(key: str, width: int, height: int, camera: Camera = WHOLE) -> Grid:
    """Give the number of the shape each square shows, EMPTY beside the body."""
    view = load_view(key)
    frame = fit(view, width, height, camera)
    grid = [[EMPTY] * width for _ in range(height)]
    for number, shape in enumerate(view.shapes):
        paint(grid, shape.ring, frame, number)
    shown = {number for row in grid for number in row}
    for number, shape in enumerate(view.shapes):
        if number not in shown:
            _keep(grid, number, shape.ring, frame)
    return tuple(map(tuple, grid))


def _keep(grid: list[list[int]], number: int, ring: Ring, frame: Frame) -> None:
    """Leave a region too small for any square the square its middle falls on."""
    xs, ys = [p[0] for p in ring], [p[1] for p in ring]
    column, row = frame.spot((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    if 0 <= row < frame.height and 0 <= column < frame.width:
        grid[row][column] = number
