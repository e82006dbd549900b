"""A small map of the day's stops: the base, numbers in driving order, north up, a scale bar."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Protocol

from textual.content import Content
from textual.widget import Widget

if TYPE_CHECKING:
    from textual.app import RenderResult

CELL_HEIGHT = 2.0
"""A terminal cell is about twice as high as wide."""
EARTH_KM = 6371.0088  # IUGG mean radius R1
SCALES_KM = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100)


class Located(Protocol):
    """Has WGS 84 decimal degrees."""

    @property
    def lat(self) -> float:
        """North of the equator."""

    @property
    def lon(self) -> float:
        """East of Greenwich."""


Place = tuple[str, Located]
"""A label and where it stands."""


def drawn(
    places: tuple[Place, ...], chosen: str, width: int, height: int
) -> tuple[tuple[tuple[str, str], ...], ...]:
    """Give rows of (character, role) cells; roles are "", "way", "stop", "chosen".

    `places` are labels with positions in driving order, the base first; the way is drawn
    between neighbours and back. North is up, lengths are true to scale.
    """
    grid = [[(" ", "")] * width for _ in range(height)]
    if not places or width < 8 or height < 4:
        return tuple(tuple(row) for row in grid)
    positions = [position for _, position in places]
    spots = _spots(positions, width, height - 1)
    for a, b in zip(spots, [*spots[1:], spots[0]], strict=True):
        steps = max(abs(b[0] - a[0]), abs(b[1] - a[1]) * 2, 1)
        for i in range(1, steps):
            x = round(a[0] + (b[0] - a[0]) * i / steps)
            y = round(a[1] + (b[1] - a[1]) * i / steps)
            grid[y][x] = ("·", "way")
    _legend(grid, _km_per_cell(positions, width, height - 1))
    for (label, _), (x, y) in reversed(list(zip(places, spots, strict=True))):
        role = "chosen" if label == chosen else "stop"
        for i, char in enumerate(label):
            grid[y][min(x, width - len(label)) + i] = (char, role)
    return tuple(tuple(row) for row in grid)


def _legend(grid: list[list[tuple[str, str]]], km_per_cell: float) -> None:
    """Write the arrow that points north and the scale bar into the last row."""
    width = len(grid[0])
    length = max((km for km in SCALES_KM if km / km_per_cell <= width / 2), default=SCALES_KM[0])
    cells = max(round(length / km_per_cell), 1)
    bar = f"├{'─' * max(cells - 1, 0)}┤ {length:g} km" if cells < width - 9 else ""
    for x, char in enumerate(f"↑N {bar}"[:width]):
        grid[-1][x] = (char, "way")


def _km_per_cell(positions: list[Located], width: int, height: int) -> float:
    """Give how many kilometres a cell is wide."""
    step = _frame(positions, width, height)[2]
    return step * math.radians(1) * EARTH_KM


def _frame(positions: list[Located], width: int, height: int) -> tuple[float, float, float]:
    """Give (stretch of a degree of longitude, degrees down, degrees per cell)."""
    middle = math.cos(math.radians(sum(p.lat for p in positions) / len(positions)))
    xs, ys = [p.lon * middle for p in positions], [-p.lat for p in positions]
    wide, high = max(xs) - min(xs), max(ys) - min(ys)
    step = max(wide / (width - 3), high / ((height - 1) * CELL_HEIGHT), 1e-9)
    return middle, high, step


def _spots(positions: list[Located], width: int, height: int) -> list[tuple[int, int]]:
    """Give the cell of each position, the whole fitted into the frame."""
    middle, high, step = _frame(positions, width, height)
    xs = [p.lon * middle for p in positions]
    ys = [-p.lat for p in positions]
    wide = max(xs) - min(xs)
    across, down = width - 3, height - 1
    left = (across - wide / step) / 2
    top = (down - high / step / CELL_HEIGHT) / 2
    return [
        (round(left + (x - min(xs)) / step), round(top + (y - min(ys)) / step / CELL_HEIGHT))
        for x, y in zip(xs, ys, strict=True)
    ]


STYLES = {"": "", "way": "$quiet", "stop": "bold $primary", "chosen": "bold reverse"}


class RoundMap(Widget):
    """The day's stops on a map of cells."""

    def __init__(self, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002  (the name Textual uses)
        super().__init__(id=id, classes=classes)
        self.places: tuple[Place, ...] = ()
        self._chosen = ""

    def show(self, places: tuple[Place, ...], chosen: str) -> None:
        """Draw these places, one of them marked."""
        self.places, self._chosen = places, chosen
        self.refresh()

    def render(self) -> RenderResult:
        """Give the picture."""
        rows = drawn(self.places, self._chosen, *self.size)
        return Content("\n").join(
            Content("").join(Content.styled(char, STYLES[role]) for char, role in row)
            for row in rows
        )
