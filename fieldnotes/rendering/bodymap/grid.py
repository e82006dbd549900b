"""Which region, wound or decoration each small square of a picture shows: scan-line filling."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import ceil
from typing import TYPE_CHECKING

from fieldnotes.knowledge.bodymap import load_view

if TYPE_CHECKING:
    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.knowledge.polygons import Ring

EMPTY = -1
MARGIN = 0.02


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


def fit(view: View, width: int, height: int) -> Frame:
    """Fit the whole view into the picture, in the middle, squares being square."""
    left, bottom, right, top = view.bounds
    pad = MARGIN * max(right - left, top - bottom)
    wide, high = right - left + 2 * pad, top - bottom + 2 * pad
    step = max(wide / max(1, width), high / max(1, height))
    spare_x, spare_y = step * width - wide, step * height - high
    return Frame(left - pad - spare_x / 2, top + pad + spare_y / 2, step, width, height)


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


@lru_cache(maxsize=32)
def shape_grid(key: str, width: int, height: int) -> tuple[tuple[int, ...], ...]:
    """Give the number of the shape each square shows, EMPTY beside the body."""
    view = load_view(key)
    frame = fit(view, width, height)
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
