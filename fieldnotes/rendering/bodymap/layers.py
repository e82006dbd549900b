"""A cross-section of the planned bandage, from the skin outward, for the handout."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import Final

from fieldnotes.rendering.bodymap.letters import stamp
from fieldnotes.rendering.bodymap.png import encode

_FILLS: Final = ("#f6d7c3", "#ffffff", "#dfe8f2", "#f4efe2", "#e6dcc4", "#b9d3c2", "#d7c7dd")
_HATCH: Final = ("", "2 2", "6 2", "1 3", "8 3 2 3", "4 4", "10 2")
_LEAST_PX, _MOST_PX = 32, 90  # two lines of words beside each
_DOT, _NUMBER_AT_PX = 2, 24


@dataclass(frozen=True)
class BandageLayer:
    """One layer: what it is, what it is for, and how thick it lies."""

    name: str
    purpose: str
    thickness_cm: float


def _height(layer: BandageLayer) -> int:
    """Give the height in the picture; thin layers stay readable, so it is not to scale."""
    return max(_LEAST_PX, min(_MOST_PX, round(layer.thickness_cm * 30)))


def _band(number: int, layer: BandageLayer, top: int) -> str:
    height, middle = _height(layer), top + _height(layer) // 2
    fill, dash = _FILLS[number % len(_FILLS)], _HATCH[number % len(_HATCH)]
    thick = f", about {layer.thickness_cm:g} cm" if layer.thickness_cm else ""
    return (
        f'<rect x="10" y="{top}" width="150" height="{height}" fill="{fill}" stroke="#333333"'
        f' stroke-dasharray="{dash}"/>'
        f'<text x="22" y="{middle + 5}" font-size="14">{number or "skin"}</text>'
        f'<text x="175" y="{middle - 2}" font-size="14" font-weight="bold">'
        f"{escape(layer.name)}{thick}</text>"
        f'<text x="175" y="{middle + 12}" font-size="11">{escape(layer.purpose)}</text>'
    )


def layers_svg(
    layers: tuple[BandageLayer, ...], *, title: str = "Bandage", width: int = 560
) -> str:
    """Draw the layers with the skin at the bottom and the outermost on top, each in words too."""
    order = "; ".join(f"{n}. {layer.name}" for n, layer in enumerate(layers, 1))
    top, bands = 34, []
    for number, layer in reversed(tuple(enumerate(layers, 1))):
        bands.append(_band(number, layer, top))
        top += _height(layer)
    skin = BandageLayer("Skin", "clean and dry", 0)
    bands.append(_band(0, skin, top))
    height = top + _height(skin) + 10
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{width}"'
        f' height="{height}" viewBox="0 0 {width} {height}" font-family="sans-serif">'
    )
    parts = [
        head,
        f"<title>{escape(title)}, from the skin outward: {escape(order)}</title>",
        f'<rect width="{width}" height="{height}" fill="#ffffff"/>',
        f'<text x="10" y="22" font-size="16">{escape(title)}</text>',
        *bands,
    ]
    return "\n".join([*parts, "</svg>\n"])


def layers_png(layers: tuple[BandageLayer, ...], width: int = 320) -> bytes:
    """Draw the same bands as PNG, each with its number, the skin at the bottom without one."""
    rows: list[bytes] = []
    skin = BandageLayer("Skin", "", 0)
    numbered = ((0, skin), *enumerate(layers, 1))
    for number, layer in reversed(numbered):
        rows += _pixel_band(number, _height(layer), width)
    return encode(rows, width, "Layers of a bandage, the skin at the bottom")


def _pixel_band(number: int, height: int, width: int) -> list[bytes]:
    fill, ink = bytes.fromhex(_FILLS[number % len(_FILLS)][1:]), (51, 51, 51)
    band = [bytearray(fill * width) for _ in range(height - 1)]
    if number:
        stamp(band, str(number), (_NUMBER_AT_PX, height // 2), ink, _DOT)
    return [*map(bytes, band), bytes(ink) * width]
