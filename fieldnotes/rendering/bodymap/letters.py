"""The letters a picture made of pixels needs: wound labels, signs of their state, captions."""

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
    "a": "..... ..... .###. ....# .#### #...# .####",
    "b": "#.... #.... ####. #...# #...# #...# ####.",
    "c": "..... ..... .#### #.... #.... #.... .####",
    "d": "....# ....# .#### #...# #...# #...# .####",
    "e": "..... ..... .###. #...# ##### #.... .###.",
    "f": "..##. .#... ####. .#... .#... .#... .#...",
    "g": "..... .#### #...# #...# .#### ....# .###.",
    "h": "#.... #.... ####. #...# #...# #...# #...#",
    "i": "..#.. ..... .##.. ..#.. ..#.. ..#.. .###.",
    "k": "#.... #.... #..#. #.#.. ##... #.#.. #..#.",
    "l": ".##.. ..#.. ..#.. ..#.. ..#.. ..#.. .###.",
    "m": "..... ..... ##.#. #.#.# #.#.# #.#.# #.#.#",
    "n": "..... ..... ####. #...# #...# #...# #...#",
    "o": "..... ..... .###. #...# #...# #...# .###.",
    "p": "..... ..... ####. #...# ####. #.... #....",
    "r": "..... ..... #.##. ##... #.... #.... #....",
    "s": "..... ..... .#### #.... .###. ....# ####.",
    "t": ".#... .#... ####. .#... .#... .#..# ..##.",
    "u": "..... ..... #...# #...# #...# #...# .####",
    "v": "..... ..... #...# #...# #...# .#.#. ..#..",
    "w": "..... ..... #...# #.#.# #.#.# #.#.# .#.#.",
    "x": "..... ..... #...# .#.#. ..#.. .#.#. #...#",
    "y": "..... ..... #...# #...# .#### ....# .###.",
    "z": "..... ..... ##### ...#. ..#.. .#... #####",
    "ß": ".##.. #..#. #..#. #.#.. #..#. #..#. #.#..",
    "K": "#...# #..#. #.#.. ##... #.#.. #..#. #...#",
    "S": ".#### #.... #.... .###. ....# ....# ####.",
    "Z": "##### ....# ...#. ..#.. .#... #.... #####",
    ",": "..... ..... ..... ..... .##.. ..#.. .#...",
    " ": "..... ..... ..... ..... ..... ..... .....",
    "#": "..... .#.#. ##### .#.#. ##### .#.#. .....",
    "+": "..... ..#.. ..#.. ##### ..#.. ..#.. .....",
    "!": "..#.. ..#.. ..#.. ..#.. ..#.. ..... ..#..",
    "=": "..... ..... ##### ..... ##### ..... .....",
}
OTHER: Final = "##### #...# #...# #...# #...# #...# #####"


HIGH: Final = 7  # dots of a letter
WIDE: Final = 6  # dots from one letter to the next


def _plain(text: str) -> list[str]:
    """Give a text as rows of dots."""
    glyphs = [GLYPHS.get(char, OTHER).split() for char in text]
    return [".".join(rows) for rows in zip(*glyphs, strict=True)]


def _framed(text: str) -> list[str]:
    """Give rows of dots: the text within a margin, a frame around it."""
    lines = _plain(text)
    inner = ["." * len(lines[0]), *lines, "." * len(lines[0])]
    rule = "#" * (len(lines[0]) + 2 * MARGIN)
    return [rule, *(f"#.{line}.#" for line in inner), rule]


def stamp(rows: list[bytearray], text: str, at: tuple[int, int], ink: Colour, size: int) -> None:
    """Write a text on white in a frame over rows of red, green and blue bytes."""
    _put(rows, _framed(text), at, (ink, PAPER), size)


def write(
    rows: list[bytearray], text: str, at: tuple[int, int], colours: tuple[Colour, Colour], size: int
) -> None:
    """Write a text in ink and ground colour over rows of red, green and blue bytes."""
    _put(rows, _plain(text), at, colours, size)


def _put(
    rows: list[bytearray],
    dots: list[str],
    at: tuple[int, int],
    colours: tuple[Colour, Colour],
    size: int,
) -> None:
    """Set dots of `size` pixels, centred at a pixel, moved as far as to stay in the picture."""
    ink, ground = colours
    wide, high = len(dots[0]) * size, len(dots) * size
    left = max(0, min(at[0] - wide // 2, len(rows[0]) // 3 - wide))
    top = max(0, min(at[1] - high // 2, len(rows) - high))
    for down, dotted in enumerate(dots):
        line = b"".join(bytes(ink if dot == "#" else ground) * size for dot in dotted)
        for row in rows[top + down * size : top + (down + 1) * size]:
            room = len(row) - left * 3
            row[left * 3 : left * 3 + len(line)] = line[:room]
