"""The map as terminal cells: block elements in colour, braille or plain characters without any."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from fieldnotes.knowledge.bodymap import load_view
from fieldnotes.rendering.bodymap.blocks import Cell, mixer
from fieldnotes.rendering.bodymap.grid import shape_grid
from fieldnotes.rendering.bodymap.light import light_levels
from fieldnotes.rendering.bodymap.lines import braille_rows, plain_rows
from fieldnotes.rendering.bodymap.palette import DARK, Palette, readable_on, slot_colour
from fieldnotes.rendering.bodymap.scene import ACROSS, DOWN, scene_grid, written

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldnotes.knowledge.polygons import Point
    from fieldnotes.rendering.bodymap.grid import Camera
    from fieldnotes.rendering.bodymap.scene import Scene

Manner = Literal["blocks", "braille", "plain"]


RegionRows = tuple[tuple[str | None, ...], ...]
Cells = tuple[tuple[Cell, ...], ...]


def point_at(scene: Scene, width: int, height: int, column: int, row: int) -> Point:
    """Give the centimetres under the middle of a cell."""
    frame = scene.frame(width, height)
    return frame.centre(column * ACROSS + 0.5, row * DOWN + 1.5)


def regions_shown(scene: Scene, width: int, height: int) -> RegionRows:
    """Give the region each cell shows: that of its square nearest the viewer."""
    return _regions(scene.view.key, width, height, scene.camera)


@lru_cache(maxsize=16)
def _regions(key: str, width: int, height: int, camera: Camera) -> RegionRows:
    shapes = shape_grid(key, width * ACROSS, height * DOWN, camera)
    names = [*(shape.region_id for shape in load_view(key).shapes), None]  # EMPTY is -1
    return tuple(
        tuple(names[max(block)] for block in zip(*_squares(shapes, y), strict=True))
        for y in range(height)
    )


def _squares(grid: Sequence[Sequence[int]], y: int) -> list[Sequence[int]]:
    """Give a row of cells as eight rows of squares, one for each place in a cell."""
    rows = grid[y * DOWN : (y + 1) * DOWN]
    return [row[side::ACROSS] for row in rows for side in range(ACROSS)]


def draw_cells(
    scene: Scene,
    width: int,
    height: int,
    *,
    palette: Palette = DARK,
    manner: Manner = "blocks",
) -> Cells:
    """Draw a scene as rows of cells; braille and plain characters use no colour."""
    if width < 1 or height < 1:
        return ()
    words = written(scene, width, height)
    if manner == "blocks":
        return _blocks(scene, width, height, palette, words)
    rows = (braille_rows if manner == "braille" else plain_rows)(scene, width, height)
    return tuple(
        tuple(
            Cell(words[x, y][0] if (x, y) in words else char, None, None)
            for x, char in enumerate(row)
        )
        for y, row in enumerate(rows)
    )


def _blocks(
    scene: Scene,
    width: int,
    height: int,
    palette: Palette,
    words: dict[tuple[int, int], tuple[str, str]],
) -> Cells:
    grid = scene_grid(scene, width * ACROSS, height * DOWN)
    levels = light_levels(scene.view.key, width, height, scene.camera)
    mixed = mixer(scene.view.key, palette)
    rows = [
        [mixed[block] for block in zip(levels[y], *_squares(grid, y), strict=True)]
        for y in range(height)
    ]
    for (x, y), (char, name) in words.items():
        if 0 <= x < width and 0 <= y < height:
            ground = slot_colour(name, palette)
            rows[y][x] = Cell(char, readable_on(ground, palette), ground)
    return tuple(map(tuple, rows))
