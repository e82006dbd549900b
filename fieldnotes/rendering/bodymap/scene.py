"""What stands in a picture: a view, the choice, wounds, structures beneath, and where one looks."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from fieldnotes.knowledge.bodymap import load_view, point_in
from fieldnotes.rendering.bodymap.grid import (
    EMPTY,
    WHOLE,
    Camera,
    Frame,
    Grid,
    fit,
    paint,
    shape_grid,
    spans,
    stroke,
    trail,
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
_DRAWN: Final = {
    "hair": "hair",
    "white": "white",
    "fill": "ink",
    "line": "crease",
    "horn": "crease",
}


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
    """Draw a wound to scale on the body, faint ones as an outline.

    The smallest still fills half a cell.
    """
    number = slot(view, mark.shade)
    if mark.faint:
        edge_on_body(grid, mark.ring, frame, number)
        return
    for row, first, last in spans(mark.ring, frame):
        here = grid[row][first:last]
        grid[row][first:last] = [EMPTY if old == EMPTY else number for old in here]
    _half_cell(grid, frame, (mark.x_cm, mark.y_cm), number)


def edge_on_body(grid: list[list[int]], ring: Ring, frame: Frame, value: int) -> None:
    """Write a value round a ring where the body is: no wound reaches into the air."""
    for column, row in trail((*ring, ring[0]), frame):
        if grid[row][column] != EMPTY:
            grid[row][column] = value


def written(scene: Scene, width: int, height: int) -> dict[tuple[int, int], tuple[str, str]]:
    """Give (character, slot) at each cell that carries one: wound labels, tags, the cursor."""
    frame = scene.frame(width, height)
    found: dict[tuple[int, int], tuple[str, str]] = {}
    words = [(point, text, "pouch") for point, text in scene.tags]
    words += [(spot, m.sign, m.shade) for m in scene.wounds if (spot := _sign_spot(m, frame))]
    here = [m.shade for m in scene.wounds if (m.x_cm, m.y_cm) == scene.cursor]
    words += [(scene.cursor, "+", here[0] if here else "selected")] if scene.cursor else []
    for (x_cm, y_cm), text, name in words:
        column, row = frame.spot(x_cm, y_cm)
        first = max(0, min(column // ACROSS, width - len(text)))
        for offset, char in enumerate(text):
            found[first + offset, row // DOWN] = (char, name)
    return found


def _sign_spot(mark: WoundMark, frame: Frame) -> Point | None:
    """Give where a wound's label stands: in its middle, else where an edge of the picture cuts it.

    None where the picture shows nothing of the wound.
    """
    column, row = frame.spot(mark.x_cm, mark.y_cm)
    if 0 <= column < frame.width and 0 <= row < frame.height:
        return mark.x_cm, mark.y_cm
    seen = spans(mark.ring, frame)
    if not seen:
        return None
    row, first, last = seen[len(seen) // 2]
    return frame.centre((first + last) // 2, row)
