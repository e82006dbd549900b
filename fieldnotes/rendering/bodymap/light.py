"""How light falls on the coat: brighter near the upper edge, darker towards the lower and rear.

From in front or behind both sides are as dark, so that left and right look alike.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import groupby
from typing import TYPE_CHECKING

from fieldnotes.knowledge.bodymap import load_view
from fieldnotes.rendering.bodymap.grid import EMPTY, Camera
from fieldnotes.rendering.bodymap.scene import ACROSS, DOWN, coat_grid

if TYPE_CHECKING:
    from collections.abc import Sequence

BRIGHTEST = 2
_FADE_ABOVE, _FADE_BELOW, _FADE_BESIDE = 0.10, 0.16, 0.05  # of the height of the view


def _runs(row: Sequence[bool]) -> list[int]:
    """Give for each square how many of the body lie before it without a break."""
    found: list[int] = []
    for body, group in groupby(row):
        length = len(list(group))
        found += range(1, length + 1) if body else [0] * length
    return found


def _backwards(row: Sequence[bool]) -> list[int]:
    return _runs(row[::-1])[::-1]


@lru_cache(maxsize=16)
def light_levels(key: str, width: int, height: int, camera: Camera) -> tuple[tuple[int, ...], ...]:
    """Give each cell's level: above 0 brighter, below darker, 0 for the coat's own colour."""
    view = load_view(key)
    grid = coat_grid(key, width * ACROSS, height * DOWN, camera)
    far = {EMPTY, *(n for n, shape in enumerate(view.shapes) if shape.far)}
    body = [
        [not far.issuperset(cell) for cell in zip(row[::ACROSS], row[1::ACROSS], strict=True)]
        for row in grid[1::DOWN]
    ]
    columns = list(zip(*body, strict=True))
    above = list(zip(*map(_runs, columns), strict=True))
    below = list(zip(*map(_backwards, columns), strict=True))
    tall = height * camera.zoom
    bright = _ramp(height, tall * _FADE_ABOVE, BRIGHTEST + 0.4)
    dark = _ramp(height, tall * _FADE_BELOW, 3.4)
    rear = _ramp(width, 2 * tall * _FADE_BESIDE, 1.8)
    both = key in ("front", "back")
    return tuple(
        tuple(
            round(bright[up] - dark[down] - rear[min(aft, ahead) if both else aft])
            for up, down, aft, ahead in zip(
                above[y], below[y], _backwards(row), _runs(row), strict=True
            )
        )
        for y, row in enumerate(body)
    )


def _ramp(cells: int, reach: float, most: float) -> list[float]:
    """Give how strongly an edge tells on a cell so many cells away from it."""
    return [max(0.0, 1 - n / reach) * most for n in range(cells + 1)]
