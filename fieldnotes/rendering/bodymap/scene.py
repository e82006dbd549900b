"""What stands in a picture: a view, the choice, wounds, structures beneath, and where one looks."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from fieldnotes.knowledge.bodymap import load_view, point_in
from fieldnotes.rendering.bodymap.grid import (
    WHOLE,
    Camera,
    Frame,
    Grid,
    fit,
    paint,
    shape_grid,
    stroke,
)

if TYPE_CHECKING:
    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.knowledge.polygons import Point, Ring
    from fieldnotes.rendering.bodymap.wounds import WoundMark

ACROSS, DOWN = 2, 4  # squares of a cell
# What may be painted over the shapes; in the grid each is its place here after the last shape.
SLOTS: Final = (
    "hair",
    "white",
    "ink",
    "crease",
    "selected",
    "pouch",
    "open",
    "stitched",
    "improving",
    "worse",
    "healed",
    "past",
)
_DRAWN: Final = {"hair": "hair", "white": "white", "fill": "ink", "line": "crease"}


@dataclass(frozen=True)
class Scene:
    """One picture: `pouches` are outlined, `tags` are characters at points, such as their numbers.

    The cursor is the exact point inside the region that is `selected`.
    """

    view: View
    selected: str | None = None
    wounds: tuple[WoundMark, ...] = ()
    cursor: Point | None = None
    pouches: tuple[Ring, ...] = ()
    tags: tuple[tuple[Point, str], ...] = ()
    camera: Camera = WHOLE

    def frame(self, width: int, height: int) -> Frame:
        """Give how the view falls on the squares of width x height cells."""
        return fit(self.view, width * ACROSS, height * DOWN, self.camera)


def slot(view: View, name: str) -> int:
    """Give the number that stands for a slot in a view's grid."""
    return len(view.shapes) + SLOTS.index(name)


@lru_cache(maxsize=32)
def coat_grid(key: str, width: int, height: int, camera: Camera) -> Grid:
    """Give the body with its decoration: mane, eye, creases."""
    view = load_view(key)
    grid = [list(row) for row in shape_grid(key, width, height, camera)]
    frame = fit(view, width, height, camera)
    for detail in view.details:
        if detail.kind in _DRAWN:  # strands are finer than any square
            draw = stroke if detail.kind == "line" else paint
            draw(grid, detail.points, frame, slot(view, _DRAWN[detail.kind]))
    return tuple(map(tuple, grid))


def scene_grid(scene: Scene, width: int, height: int) -> list[list[int]]:
    """Give the number each of width x height squares shows, everything painted."""
    view = scene.view
    frame = fit(view, width, height, scene.camera)
    grid = [list(row) for row in coat_grid(view.key, width, height, scene.camera)]
    if scene.selected:
        _light_up(grid, view, scene.selected, frame)
    for ring in scene.pouches:
        _ring_round(grid, ring, frame, slot(view, "pouch"))
    for mark in sorted(scene.wounds, key=lambda m: not m.past):
        _mark(grid, view, mark, frame)
    return grid


def _light_up(grid: list[list[int]], view: View, selected: str, frame: Frame) -> None:
    """Light the region where it is seen; a very small one still lights half a cell."""
    light = slot(view, "selected")
    for chosen, shape in enumerate(view.shapes):
        if shape.region_id != selected:
            continue
        heights = [y for _, y in shape.ring]
        first, last = frame.spot(0, max(heights))[1], frame.spot(0, min(heights))[1]
        for y in range(max(0, first - 1), min(frame.height, last + 2)):
            if chosen in grid[y]:
                grid[y] = [light if number == chosen else number for number in grid[y]]
    if selected in view.region_ids:
        _half_cell(grid, frame, point_in(view, selected), light)


def _half_cell(grid: list[list[int]], frame: Frame, point: Point, value: int) -> None:
    column, row = frame.spot(*point)
    first = column - column % ACROSS
    if 0 <= row < frame.height and 0 <= column < frame.width:
        grid[row][first : first + ACROSS] = [value] * ACROSS
        grid[row ^ 1][first : first + ACROSS] = [value] * ACROSS


def _ring_round(grid: list[list[int]], ring: Ring, frame: Frame, value: int) -> None:
    stroke(grid, (*ring, ring[0]), frame, value)


def _mark(grid: list[list[int]], view: View, mark: WoundMark, frame: Frame) -> None:
    """Draw a wound to scale, faint ones as an outline; the smallest still fills half a cell."""
    if mark.faint:
        _ring_round(grid, mark.ring, frame, slot(view, "past" if mark.past else "healed"))
        return
    number = slot(view, mark.state)
    paint(grid, mark.ring, frame, number)
    _half_cell(grid, frame, (mark.x_cm, mark.y_cm), number)


def written(scene: Scene, width: int, height: int) -> dict[tuple[int, int], tuple[str, str]]:
    """Give (character, slot) at each cell that carries one: wound labels, tags, the cursor."""
    frame = scene.frame(width, height)
    found: dict[tuple[int, int], tuple[str, str]] = {}
    words = [(point, text, "pouch") for point, text in scene.tags]
    words += [((m.x_cm, m.y_cm), m.sign, m.shade) for m in scene.wounds]
    here = [m.shade for m in scene.wounds if (m.x_cm, m.y_cm) == scene.cursor]
    words += [(scene.cursor, "+", here[0] if here else "selected")] if scene.cursor else []
    for (x_cm, y_cm), text, name in words:
        column, row = frame.spot(x_cm, y_cm)
        for offset, char in enumerate(text):
            found[column // ACROSS + offset, row // DOWN] = (char, name)
    return found
