"""The few letters a picture made of pixels needs: wound labels, signs of their state, figures."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from fieldnotes.rendering.bodymap.palette import Colour

MARGIN = 2  # dots
PAPER: Final = (255, 255, 255)
# Rows of dots from the top; drawn by us.
GLYPHS: Final = {
    "0": ".###. #...# #..## #.#.# ##..# #...# .###.",
    "1": "..#.. .##.. ..#.. ..#.. ..#.. ..#.. .###.",
    "2": ".###. #...# ....# ...#. ..#.. .#... #####",
    "3": "####. ....# ....# .###. ....# ....# ####.",
    "4": "...#. ..##. .#.#. #..#. ##### ...#. ...#.",
    "5": "##### #.... ####. ....# ....# #...# .###.",
    "6": ".###. #.... #.... ####. #...# #...# .###.",
    "7": "##### ....# ...#. ..#.. ..#.. ..#.. ..#..",
    "8": ".###. #...# #...# .###. #...# #...# .###.",
    "9": ".###. #...# #...# .#### ....# ....# .###.",
    "A": "..#.. .#.#. #...# #...# ##### #...# #...#",
    "B": "####. #...# #...# ####. #...# #...# ####.",
    "C": ".#### #.... #.... #.... #.... #.... .####",
    "D": "####. #...# #...# #...# #...# #...# ####.",
    "E": "##### #.... #.... ####. #.... #.... #####",
    "F": "##### #.... #.... ####. #.... #.... #....",
    "G": ".#### #.... #.... #..## #...# #...# .####",
    "H": "#...# #...# #...# ##### #...# #...# #...#",
    "#": "..... .#.#. ##### .#.#. ##### .#.#. .....",
    "+": "..... ..#.. ..#.. ##### ..#.. ..#.. .....",
    "!": "..#.. ..#.. ..#.. ..#.. ..#.. ..... ..#..",
    "=": "..... ..... ##### ..... ##### ..... .....",
}
OTHER: Final = "##### #...# #...# #...# #...# #...# #####"


def _dots(text: str) -> list[str]:
    """Give rows of dots: the text within a margin, a frame around it."""
    glyphs = [GLYPHS.get(char, OTHER).split() for char in text]
    lines = [".".join(rows) for rows in zip(*glyphs, strict=True)]
    inner = ["." * len(lines[0]), *lines, "." * len(lines[0])]
    rule = "#" * (len(lines[0]) + 2 * MARGIN)
    return [rule, *(f"#.{line}.#" for line in inner), rule]


def stamp(rows: list[bytearray], text: str, at: tuple[int, int], ink: Colour, size: int) -> None:
    """Write a text on white over rows of red, green and blue bytes, centred at a pixel.

    A dot is `size` pixels wide; the label is moved as far as it takes to stay in the picture.
    """
    dots = _dots(text)
    wide, high = len(dots[0]) * size, len(dots) * size
    left = max(0, min(at[0] - wide // 2, len(rows[0]) // 3 - wide))
    top = max(0, min(at[1] - high // 2, len(rows) - high))
    for down, dotted in enumerate(dots):
        line = b"".join(bytes(ink if dot == "#" else PAPER) * size for dot in dotted)
        for row in rows[top + down * size : top + (down + 1) * size]:
            room = len(row) - left * 3
            row[left * 3 : left * 3 + len(line)] = line[:room]
