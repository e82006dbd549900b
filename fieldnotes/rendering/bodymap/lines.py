"""The map in the terminal's own ink: braille outlines, or plain characters where those lack."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from fieldnotes.rendering.bodymap.grid import EMPTY
from fieldnotes.rendering.bodymap.scene import ACROSS, DOWN, SLOTS, scene_grid, slot

if TYPE_CHECKING:
    from fieldnotes.rendering.bodymap.scene import Scene

BRAILLE: Final = 0x2800
# Bits of a braille character's dots, row by row, left before right (Unicode chapter 21.1).
DOTS: Final = (0x01, 0x08, 0x02, 0x10, 0x04, 0x20, 0x40, 0x80)
_SIGNS: Final = {
    **dict.fromkeys(SLOTS, "*"),
    "hair": ".",
    "white": ":",
    "ink": ".",
    "crease": ":",
    "selected": "#",
    "pouch": "o",
    "healed": "=",
    "past": "-",
}


class _Ink:
    """Says which squares of a scene carry ink: outlines, the choice hatched, wounds filled."""

    def __init__(self, scene: Scene, grid: list[list[int]]) -> None:
        view = scene.view
        self._grid = grid
        self._coats = len(view.shapes)
        self._selected = slot(view, "selected")
        self._solid = {
            slot(view, name) for name in SLOTS if name not in ("hair", "white", "selected")
        }
        self._hair = slot(view, "hair")

    def dark(self, x: int, y: int) -> bool:
        """Say whether the square is inked."""
        here = self._grid[y][x]
        if here in self._solid:
            return True
        if here == self._selected and (x + y) % 2 == 0:
            return True
        if here == self._hair and (x + 2 * y) % 4 == 0:
            return True
        return self._edge(here, x, y)

    def _edge(self, here: int, x: int, y: int) -> bool:
        """Say whether the body ends here, or, on every other square, a region."""
        beside = self._grid[y][x - 1] if x else EMPTY
        above = self._grid[y - 1][x] if y else EMPTY
        if here in (beside, above) and beside == above:
            return False
        if EMPTY in (here, beside, above):
            return (here == EMPTY) != (beside == EMPTY and above == EMPTY) or here != EMPTY
        return (x + y) % 2 == 0


def braille_rows(scene: Scene, width: int, height: int) -> list[str]:
    """Give the picture as rows of braille characters."""
    grid = scene_grid(scene, width * ACROSS, height * DOWN)
    ink = _Ink(scene, grid)
    return [
        "".join(
            chr(
                BRAILLE
                + sum(
                    bit
                    for n, bit in enumerate(DOTS)
                    if ink.dark(x * ACROSS + n % ACROSS, y * DOWN + n // ACROSS)
                )
            )
            for x in range(width)
        )
        for y in range(height)
    ]


def plain_rows(scene: Scene, width: int, height: int) -> list[str]:
    """Give the picture in plain characters: near body :, behind and hair ., choice #.

    A wound is *, a healed one =, an earlier one -, the outline of a pouch o.
    """
    view = scene.view
    grid = scene_grid(scene, width * ACROSS, height * DOWN)
    signs = ["." if s.far or s.region_id == "tail" else ":" for s in view.shapes]
    first = len(signs) + SLOTS.index("selected")
    signs += [*(_SIGNS[name] for name in SLOTS), " "]  # EMPTY is -1, so the air stands last
    rows = []
    for top in range(0, height * DOWN, DOWN):
        line = []
        for left in range(0, width * ACROSS, ACROSS):
            found = [n for row in grid[top : top + DOWN] for n in row[left : left + ACROSS]]
            line.append(signs[max(found, key=lambda n: (n >= first, found.count(n), n))])
        rows.append("".join(line))
    return rows
