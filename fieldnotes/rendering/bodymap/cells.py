"""The map as terminal cells: half blocks in colour, or plain characters without any."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from fieldnotes.knowledge.bodymap import load_view
from fieldnotes.rendering.bodymap.grid import EMPTY, Frame, fit, paint, shape_grid
from fieldnotes.rendering.bodymap.palette import DARK, Colour, Palette, mixed, shape_colour

if TYPE_CHECKING:
    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.knowledge.polygons import Point
    from fieldnotes.rendering.bodymap.wounds import WoundMark

HALF = "\u2580"
FINE = 2
Canvas = list[list[Colour]]


class Cell(NamedTuple):
    """One character of the picture; without colour both colours are None."""

    char: str
    fg: Colour | None
    bg: Colour | None
    region_id: str | None


def frame_of(view: View, width: int, height: int) -> Frame:
    """Give how a view falls on width x height cells, two squares above each other in each."""
    return fit(view, width, height * 2)


def point_at(view: View, width: int, height: int, column: int, row: int) -> Point:
    """Give the centimetres under the middle of a cell."""
    return frame_of(view, width, height).centre(column, row * 2 + 0.5)


@lru_cache(maxsize=32)
def _coat(key: str, width: int, height: int, palette: Palette) -> tuple[tuple[Colour, ...], ...]:
    """Give the picture without wounds or choice; edges are softened by finer sampling."""
    view = load_view(key)
    fine_width, fine_height = width * FINE, height * FINE
    shades = [shape_colour(s, palette) for s in view.shapes] + [palette.hair, palette.ink]
    grid = [list(row) for row in shape_grid(key, fine_width, fine_height)]
    frame = fit(view, fine_width, fine_height)
    for detail in view.details:
        if detail.kind in ("hair", "fill"):
            paint(grid, detail.points, frame, len(shades) - (2 if detail.kind == "hair" else 1))
    mix = _Mixer(shades, palette)
    return tuple(
        tuple(
            mix.of((*upper[x : x + FINE], *lower[x : x + FINE])) for x in range(0, fine_width, FINE)
        )
        for upper, lower in zip(grid[::FINE], grid[1::FINE], strict=True)
    )


class _Mixer:
    """Turns the shapes of a square's four quarters into one colour; most squares are alike."""

    def __init__(self, shades: list[Colour], palette: Palette) -> None:
        self._shades = shades
        self._palette = palette
        self._known: dict[tuple[int, ...], Colour] = {}

    def of(self, block: tuple[int, ...]) -> Colour:
        """Mix the most frequent colour with the ground by how much of the square it fills."""
        if block not in self._known:
            self._known[block] = self._mix(block)
        return self._known[block]

    def _mix(self, block: tuple[int, ...]) -> Colour:
        body = [n for n in block if n != EMPTY]
        soft = self._palette.step > 0
        if not body or (not soft and len(body) * 2 < len(block)):
            return self._palette.ground
        main = self._shades[max(body, key=body.count)]
        return mixed(self._palette.ground, main, len(body) / len(block)) if soft else main


def _light_up(canvas: Canvas, view: View, selected: str, palette: Palette) -> None:
    height, width = len(canvas), len(canvas[0])
    chosen = {n for n, s in enumerate(view.shapes) if s.region_id == selected}
    for y, row in enumerate(shape_grid(view.key, width, height)):
        for x, number in enumerate(row):
            if number in chosen:
                canvas[y][x] = palette.selected


def _mark(canvas: Canvas, view: View, mark: WoundMark, palette: Palette) -> None:
    """Draw a wound to scale; one smaller than a square still fills the square it lies in."""
    height, width = len(canvas), len(canvas[0])
    frame = fit(view, width, height)
    grid = [[EMPTY] * width for _ in range(height)]
    paint(grid, mark.ring, frame, 0)
    column, row = frame.spot(mark.x_cm, mark.y_cm)
    if 0 <= row < height and 0 <= column < width:
        grid[row][column] = 0
    colour = palette.past_wound if mark.past or mark.state == "healed" else palette.wound
    for y, line in enumerate(grid):
        for x, value in enumerate(line):
            if value != EMPTY:
                canvas[y][x] = colour


def _labels(
    wounds: tuple[WoundMark, ...], frame: Frame
) -> dict[tuple[int, int], tuple[str, WoundMark]]:
    """Give the character of a wound's label at each cell, on the wound's middle."""
    found = {}
    for mark in wounds:
        column, row = frame.spot(mark.x_cm, mark.y_cm)
        for offset, char in enumerate(mark.sign):
            found[column + offset, row // 2] = (char, mark)
    return found


def canvas(
    view: View,
    width: int,
    height: int,
    *,
    selected: str | None,
    wounds: tuple[WoundMark, ...],
    palette: Palette,
) -> Canvas:
    """Give the colour of each of width x height square points."""
    picture = [list(row) for row in _coat(view.key, width, height, palette)]
    if selected:
        _light_up(picture, view, selected, palette)
    for mark in sorted(wounds, key=lambda m: not m.past):
        _mark(picture, view, mark, palette)
    return picture


def draw_cells(
    view: View,
    width: int,
    height: int,
    *,
    selected: str | None = None,
    wounds: tuple[WoundMark, ...] = (),
    palette: Palette = DARK,
    plain: bool = False,
) -> tuple[tuple[Cell, ...], ...]:
    """Draw a view as rows of cells; `plain` uses characters alone and no colour."""
    if width < 1 or height < 1:
        return ()
    numbers = shape_grid(view.key, width, height * 2)
    labels = _labels(wounds, frame_of(view, width, height))
    if plain:
        return _plain(view, numbers, selected, wounds, labels)
    picture = canvas(view, width, height * 2, selected=selected, wounds=wounds, palette=palette)
    rows = []
    for y in range(height):
        pairs = zip(picture[2 * y], picture[2 * y + 1], strict=True)
        rows.append(
            tuple(
                _cell(top, bottom, _region(view, numbers, x, y), labels.get((x, y)), palette)
                for x, (top, bottom) in enumerate(pairs)
            )
        )
    return tuple(rows)


def _region(view: View, numbers: tuple[tuple[int, ...], ...], x: int, y: int) -> str | None:
    number = max(numbers[2 * y][x], numbers[2 * y + 1][x])
    return None if number == EMPTY else view.shapes[number].region_id


def _cell(
    top: Colour,
    bottom: Colour,
    region_id: str | None,
    label: tuple[str, WoundMark] | None,
    palette: Palette,
) -> Cell:
    if label:
        char, mark = label
        ground = palette.past_wound if mark.past or mark.state == "healed" else palette.wound
        return Cell(char, palette.label, ground, region_id)
    return Cell(HALF, top, bottom, region_id)


def _plain(
    view: View,
    numbers: tuple[tuple[int, ...], ...],
    selected: str | None,
    wounds: tuple[WoundMark, ...],
    labels: dict[tuple[int, int], tuple[str, WoundMark]],
) -> tuple[tuple[Cell, ...], ...]:
    """Draw with characters: near body :, limbs behind and hair ., choice #, wounds *."""
    height, width = len(numbers) // 2, len(numbers[0])
    frame = frame_of(view, width, height)
    marks = [[EMPTY] * width for _ in range(height * 2)]
    for mark in wounds:
        paint(marks, mark.ring, frame, 0)
    rows = []
    for y in range(height):
        row = []
        for x in range(width):
            region_id = _region(view, numbers, x, y)
            char = _sign(view, max(numbers[2 * y][x], numbers[2 * y + 1][x]), selected)
            if max(marks[2 * y][x], marks[2 * y + 1][x]) != EMPTY:
                char = "*"
            char = labels[x, y][0] if (x, y) in labels else char
            row.append(Cell(char, None, None, region_id))
        rows.append(tuple(row))
    return tuple(rows)


def _sign(view: View, number: int, selected: str | None) -> str:
    if number == EMPTY:
        return " "
    shape = view.shapes[number]
    if shape.region_id == selected:
        return "#"
    return "." if shape.far or shape.region_id == "tail" else ":"
