"""A small map of the day's stops: the base, numbers in driving order, north up."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from textual.content import Content
from textual.widget import Widget

if TYPE_CHECKING:
    from textual.app import RenderResult

    from fieldnotes.domain.patients import Position

CELL_HEIGHT = 2.0
"""A terminal cell is about twice as high as wide."""


def drawn(
    places: tuple[tuple[str, Position], ...], chosen: str, width: int, height: int
) -> tuple[tuple[tuple[str, str], ...], ...]:
    """Give rows of (character, role) cells; roles are "", "way", "stop", "chosen".

    `places` are labels with positions in driving order, the base first; the way is drawn
    between neighbours and back. North is up, lengths are true to scale.
    """
    grid = [[(" ", "")] * width for _ in range(height)]
    if not places or width < 8 or height < 4:
        return tuple(tuple(row) for row in grid)
    spots = _spots([position for _, position in places], width, height)
    for a, b in zip(spots, [*spots[1:], spots[0]], strict=True):
        steps = max(abs(b[0] - a[0]), abs(b[1] - a[1]) * 2, 1)
        for i in range(1, steps):
            x = round(a[0] + (b[0] - a[0]) * i / steps)
            y = round(a[1] + (b[1] - a[1]) * i / steps)
            grid[y][x] = ("·", "way")
    for (label, _), (x, y) in reversed(list(zip(places, spots, strict=True))):
        role = "chosen" if label == chosen else "stop"
        for i, char in enumerate(label):
            grid[y][min(x, width - len(label)) + i] = (char, role)
    return tuple(tuple(row) for row in grid)


def _spots(positions: list[Position], width: int, height: int) -> list[tuple[int, int]]:
    """Give the cell of each position, the whole fitted into the frame."""
    middle = math.cos(math.radians(sum(p.lat for p in positions) / len(positions)))
    xs = [p.lon * middle for p in positions]
    ys = [-p.lat for p in positions]
    wide, high = max(xs) - min(xs), max(ys) - min(ys)
    across, down = width - 3, height - 1
    step = max(wide / across, high / (down * CELL_HEIGHT), 1e-9)
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
        self._places: tuple[tuple[str, Position], ...] = ()
        self._chosen = ""

    def show(self, places: tuple[tuple[str, Position], ...], chosen: str) -> None:
        """Draw these places, one of them marked."""
        self._places, self._chosen = places, chosen
        self.refresh()

    def render(self) -> RenderResult:
        """Give the picture."""
        rows = drawn(self._places, self._chosen, *self.size)
        return Content("\n").join(
            Content("").join(Content.styled(char, STYLES[role]) for char, role in row)
            for row in rows
        )
