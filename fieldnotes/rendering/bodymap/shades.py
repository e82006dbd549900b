"""Which shade each region of a view has, so that no two that meet look the same."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from fieldnotes.knowledge.bodymap import load_view
from fieldnotes.rendering.bodymap.grid import EMPTY, shape_grid
from fieldnotes.rendering.bodymap.palette import shape_colour

if TYPE_CHECKING:
    from fieldnotes.rendering.bodymap.palette import Colour, Palette

LEVELS: Final = (0, -2, 2, -1, 1)
_ACROSS: Final = 160  # squares; fine enough that regions that meet do so here


@lru_cache(maxsize=64)
def meeting(key: str) -> dict[str, set[str]]:
    """Give for each region of a view those it touches."""
    shapes = load_view(key).shapes
    grid = shape_grid(key, _ACROSS, _ACROSS)
    pairs = {pair for row in grid for pair in pairwise(row) if pair[0] != pair[1]}
    for upper, lower in pairwise(grid):
        pairs |= {pair for pair in zip(upper, lower, strict=True) if pair[0] != pair[1]}
    found: dict[str, set[str]] = {shape.region_id: set() for shape in shapes}
    for one, other in pairs:
        if EMPTY not in (one, other):
            found[shapes[one].region_id].add(shapes[other].region_id)
            found[shapes[other].region_id].add(shapes[one].region_id)
    return found


def _shaded_as(key: str, region_id: str) -> str:
    """Give what a region is shaded by: seen from in front or behind, both sides are alike."""
    both = key in ("front", "back")
    return region_id.removeprefix("left.").removeprefix("right.") if both else region_id


@lru_cache(maxsize=64)
def levels(key: str) -> dict[str, int]:
    """Give each region's level, as far as can be from those of the regions it touches."""
    found: dict[str, int] = {}
    beside: dict[str, set[str]] = {}
    for region_id, others in meeting(key).items():
        name = _shaded_as(key, region_id)
        beside.setdefault(name, set()).update(_shaded_as(key, other) for other in others)
    for name, others in beside.items():
        taken = [found[other] for other in others if other in found]
        found[name] = max(
            LEVELS, key=lambda level: min((abs(level - other) for other in taken), default=0)
        )
    return {region_id: found[_shaded_as(key, region_id)] for region_id in meeting(key)}


def coat_colours(key: str, palette: Palette) -> list[Colour]:
    """Give the colour of each shape of a view."""
    level = levels(key)
    return [shape_colour(s, level[s.region_id], palette) for s in load_view(key).shapes]
