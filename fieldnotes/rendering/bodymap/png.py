"""The map as PNG, written with the standard library alone."""

from __future__ import annotations

import struct
import zlib
from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.knowledge.language import ENGLISH
from fieldnotes.rendering.bodymap.blocks import mixer
from fieldnotes.rendering.bodymap.grid import EMPTY, fit, spans, stroke
from fieldnotes.rendering.bodymap.letters import HIGH, WIDE, stamp, write
from fieldnotes.rendering.bodymap.palette import LIGHT, Palette, mean, slot_colour
from fieldnotes.rendering.bodymap.plate import lead, letter_spots, plate_of
from fieldnotes.rendering.bodymap.scene import Scene, edge_on_body, scene_grid, slot
from fieldnotes.rendering.bodymap.wounds import alternative_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.knowledge.language import Language
    from fieldnotes.knowledge.polygons import Point
    from fieldnotes.rendering.bodymap.grid import Frame
    from fieldnotes.rendering.bodymap.palette import Colour
    from fieldnotes.rendering.bodymap.plate import Plate
    from fieldnotes.rendering.bodymap.wounds import WoundMark

TINT = 1000  # a square's number times this: what the coat is seen through
FINE = 2  # squares along each side of a pixel, so that edges are soft


def _chunk(kind: bytes, data: bytes) -> bytes:
    check = zlib.crc32(kind + data)
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", check)


def encode(rows: list[bytes], width: int, title: str) -> bytes:
    """Give a PNG file of rows of red, green and blue bytes, with a text as its description."""
    header = struct.pack(">IIBBBBB", width, len(rows), 8, 2, 0, 0, 0)
    words = b"Description\0" + title.encode("latin-1", "replace")
    pixels = zlib.compress(b"".join(b"\0" + row for row in rows), 9)
    chunks = ((b"IHDR", header), (b"tEXt", words), (b"IDAT", pixels), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(kind, data) for kind, data in chunks)


def _tinted(grid: list[list[int]], mark: WoundMark, frame: Frame, number: int) -> None:
    """Draw a wound on the body: a line round it, and a tint through which the coat is seen."""
    if not mark.faint:
        for row, first, last in spans(mark.ring, frame):
            here = grid[row][first:last]
            grid[row][first:last] = [n if n == EMPTY else n % TINT + TINT * number for n in here]
    edge_on_body(grid, mark.ring, frame, number)


def _pixels(
    scene: Scene, size: tuple[int, int], palette: Palette, spots: Sequence[Point]
) -> list[bytearray]:
    """Give each row's pixels, the mean of the squares each covers."""
    view = scene.view
    width, height = size[0] * FINE, size[1] * FINE
    grid = scene_grid(replace(scene, wounds=()), width, height)
    frame = fit(view, width, height)
    for mark, spot in zip(scene.wounds, spots, strict=True):
        _tinted(grid, mark, frame, slot(view, mark.shade))
        stroke(grid, lead(view, mark, spot), frame, slot(view, mark.shade))
    shade = mixer(view.key, palette).shade

    def colour(number: int) -> Colour:
        over, coat = divmod(number, TINT) if number != EMPTY else (0, EMPTY)
        return mean([shade(0, coat), shade(0, over)]) if over else shade(0, coat)

    known: dict[tuple[int, ...], bytes] = {}
    rows = []
    for upper, lower in zip(grid[::FINE], grid[1::FINE], strict=True):
        line = bytearray()
        for block in zip(upper[::2], upper[1::2], lower[::2], lower[1::2], strict=True):
            if block not in known:
                known[block] = bytes(mean([colour(number) for number in block]))
            line += known[block]
        rows.append(line)
    return rows


def _captioned(rows: list[bytearray], plate: Plate, palette: Palette) -> list[bytearray]:
    """Give the rows with the words above and below them."""
    wide = len(rows[0]) // 3
    longest = max((len(text) for text in (*plate.under, "  ".join(plate.between))), default=1)
    dot = max(
        1, min(round(wide / plate.wide_cm * plate.unit_cm * 5 / HIGH), wide // (longest * WIDE))
    )
    line = (HIGH + 4) * dot
    above = line if plate.above else 0

    def blank(count: int) -> list[bytearray]:
        return [bytearray(bytes(palette.ground) * wide) for _ in range(count)]

    drawn = [*blank(above), *rows, *blank(plate.rows_below * line)]
    first = above + len(rows) + line // 2
    left, middle, right = plate.between
    inset = [(len(text) * WIDE // 2 + 2) * dot for text in (left, right)]
    places = [
        (inset[0], first, left), (wide // 2, first, middle), (wide - inset[1], first, right)
    ]  # fmt: skip
    first += any(plate.between) * line
    places += [(wide // 2, first + n * line, text) for n, text in enumerate(plate.under)]
    places.append((wide // 2, above // 2, plate.above))
    for x, y, text in places:
        if text:
            write(drawn, text, (x, y), (palette.quiet, palette.ground), dot)
    return drawn


def draw_png(
    view: View,
    width_px: int = 640,
    *,
    selected: str | None = None,
    wounds: tuple[WoundMark, ...] = (),
    palette: Palette = LIGHT,
    language: Language = ENGLISH,
) -> bytes:
    """Draw a view as a PNG file, its words as an owner reads them; its description tells all."""
    plate = plate_of(view, language)
    height_px = max(1, round(width_px * plate.high_cm / plate.wide_cm))
    spots = letter_spots(plate, view, wounds)
    rows = _pixels(Scene(view, selected, wounds), (width_px, height_px), palette, spots)
    frame, dot = fit(view, width_px, height_px), max(1, round(max(width_px, height_px) / 200))
    for mark, spot in zip(wounds, spots, strict=True):
        if mark.sign:
            stamp(rows, mark.sign, frame.spot(*spot), slot_colour(mark.shade, palette), dot)
    pages = [bytes(row) for row in _captioned(rows, plate, palette)]
    return encode(pages, width_px, alternative_text(view, wounds, selected))
