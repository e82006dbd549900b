"""The map as PNG, written with the standard library alone."""

from __future__ import annotations

import struct
import zlib
from typing import TYPE_CHECKING

from fieldnotes.rendering.bodymap.blocks import mixer
from fieldnotes.rendering.bodymap.palette import LIGHT, Palette, mean
from fieldnotes.rendering.bodymap.scene import Scene, scene_grid
from fieldnotes.rendering.bodymap.wounds import alternative_text

if TYPE_CHECKING:
    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.rendering.bodymap.wounds import WoundMark

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


def _pixels(scene: Scene, width: int, height: int, palette: Palette) -> list[bytes]:
    """Give each row's pixels, the mean of the squares each covers."""
    grid = scene_grid(scene, width * FINE, height * FINE)
    shade = mixer(scene.view.key, palette).shade
    known: dict[tuple[int, ...], bytes] = {}
    rows = []
    for upper, lower in zip(grid[::FINE], grid[1::FINE], strict=True):
        line = bytearray()
        for block in zip(upper[::2], upper[1::2], lower[::2], lower[1::2], strict=True):
            if block not in known:
                known[block] = bytes(mean([shade(0, number) for number in block]))
            line += known[block]
        rows.append(bytes(line))
    return rows


def draw_png(
    view: View,
    width_px: int = 640,
    *,
    selected: str | None = None,
    wounds: tuple[WoundMark, ...] = (),
    palette: Palette = LIGHT,
) -> bytes:
    """Draw a view as a PNG file; its description is the alternative text."""
    left, bottom, right, top = view.bounds
    height_px = max(1, round(width_px * (top - bottom) / (right - left)))
    rows = _pixels(Scene(view, selected, wounds), width_px, height_px, palette)
    return encode(rows, width_px, alternative_text(view, wounds, selected))
