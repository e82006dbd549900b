"""The map as PNG, written with the standard library alone."""

from __future__ import annotations

import struct
import zlib
from typing import TYPE_CHECKING

from fieldnotes.rendering.bodymap.blocks import mixer
from fieldnotes.rendering.bodymap.grid import fit, stroke
from fieldnotes.rendering.bodymap.letters import stamp
from fieldnotes.rendering.bodymap.palette import LIGHT, Palette, mean, slot_colour
from fieldnotes.rendering.bodymap.scene import Scene, scene_grid, slot
from fieldnotes.rendering.bodymap.wounds import alternative_text

if TYPE_CHECKING:
    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.knowledge.polygons import Point
    from fieldnotes.rendering.bodymap.wounds import WoundMark

LABEL_OFF = 5  # hundredths of the picture between a wound and its label
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


def _label_spot(mark: WoundMark, unit_cm: float) -> Point:
    """Give where the label stands: up and to the right of its wound."""
    return mark.x_cm + LABEL_OFF * unit_cm, mark.y_cm + LABEL_OFF * unit_cm


def _labelled(rows: list[bytes], scene: Scene, palette: Palette) -> list[bytes]:
    """Write each wound's label with the sign of its state beside it."""
    wide, high = len(rows[0]) // 3, len(rows)
    frame = fit(scene.view, wide, high)
    unit_cm = max(wide, high) / 100 * frame.step_cm
    size = max(1, round(max(wide, high) / 200))
    drawn = [bytearray(row) for row in rows]
    for mark in scene.wounds:
        spot = frame.spot(*_label_spot(mark, unit_cm))
        stamp(drawn, mark.sign, spot, slot_colour(mark.shade, palette), size)
    return [bytes(row) for row in drawn]


def _pixels(scene: Scene, width: int, height: int, palette: Palette) -> list[bytes]:
    """Give each row's pixels, the mean of the squares each covers."""
    grid = scene_grid(scene, width * FINE, height * FINE)
    frame = fit(scene.view, width * FINE, height * FINE)
    unit_cm = max(frame.width, frame.height) / 100 * frame.step_cm
    for mark in scene.wounds:
        lead = ((mark.x_cm, mark.y_cm), _label_spot(mark, unit_cm))
        stroke(grid, lead, frame, slot(scene.view, mark.shade))
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
    scene = Scene(view, selected, wounds)
    rows = _labelled(_pixels(scene, width_px, height_px, palette), scene, palette)
    return encode(rows, width_px, alternative_text(view, wounds, selected))
