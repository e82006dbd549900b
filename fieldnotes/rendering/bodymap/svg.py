"""The map as SVG for the handout and the record, with caption and alternative text."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from fieldnotes.rendering.bodymap.palette import (
    LIGHT,
    Palette,
    hex_colour,
    slot_colour,
)
from fieldnotes.rendering.bodymap.shades import coat_colours
from fieldnotes.rendering.bodymap.wounds import alternative_text

if TYPE_CHECKING:
    from fieldnotes.knowledge.bodymap import Detail, Shape, View
    from fieldnotes.knowledge.polygons import Ring
    from fieldnotes.rendering.bodymap.palette import Colour
    from fieldnotes.rendering.bodymap.wounds import WoundMark


def _points(ring: Ring) -> str:
    return " ".join(f"{x:.4g},{-y:.4g}" for x, y in ring)


def _shape(shape: Shape, colour: Colour, selected: str | None, palette: Palette) -> str:
    fill = palette.selected if shape.region_id == selected else colour
    return (
        f'<polygon points="{_points(shape.ring)}" fill="{hex_colour(fill)}"'
        f' stroke="{hex_colour(palette.ground)}" stroke-opacity="0.45" class="seam"/>'
    )


def _outline(ring: Ring, palette: Palette) -> str:
    ink = hex_colour(palette.ink)
    return f'<polygon points="{_points(ring)}" fill="none" stroke="{ink}" class="edge"/>'


def _detail(detail: Detail, palette: Palette) -> str:
    points, ink = _points(detail.points), hex_colour(palette.ink)
    fills = {"hair": palette.hair, "white": palette.white, "fill": palette.ink}
    if detail.kind in fills:
        fill = hex_colour(fills[detail.kind])
        return f'<polygon points="{points}" fill="{fill}"/>'
    return (
        f'<polyline points="{points}" fill="none" stroke="{ink}" stroke-opacity="0.6"'
        ' class="edge"/>'
    )


def _wound(mark: WoundMark, unit: float, palette: Palette) -> str:
    """Draw the wound to scale and its label beside it, on a white disc with a leading line."""
    colour = hex_colour(slot_colour(mark.shade, palette))
    gone = mark.faint
    fill = "none" if gone else colour
    dash = f' stroke-dasharray="{unit:.3g}"' if gone else ""
    x, y = mark.x_cm + 5 * unit, -mark.y_cm - 5 * unit
    return (
        f'<line x1="{mark.x_cm:.4g}" y1="{-mark.y_cm:.4g}" x2="{x:.4g}" y2="{y:.4g}"'
        f' stroke="{colour}" class="edge"/>'
        f'<polygon points="{_points(mark.ring)}" fill="{fill}" stroke="{colour}"'
        f' class="edge"{dash}/>'
        f'<circle cx="{x:.4g}" cy="{y:.4g}" r="{2.6 * unit:.3g}" fill="#ffffff"'
        f' stroke="{colour}" class="edge"/>'
        f'<text x="{x:.4g}" y="{y + 1.2 * unit:.4g}" font-size="{3.4 * unit:.3g}"'
        f' text-anchor="middle" fill="{colour}">{escape(mark.sign)}</text>'
    )


def draw_svg(
    view: View,
    *,
    selected: str | None = None,
    wounds: tuple[WoundMark, ...] = (),
    palette: Palette = LIGHT,
    caption: str = "",
    width_px: int = 640,
) -> str:
    """Draw a view as one SVG document; the alternative text is its title."""
    left, bottom, right, top = view.bounds
    unit = max(right - left, top - bottom) / 100
    pad, foot = 3 * unit, (6 * unit if caption else 0)
    wide, high = right - left + 2 * pad, top - bottom + 2 * pad + foot
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{width_px}"'
        f' height="{round(width_px * high / wide)}"'
        f' viewBox="{left - pad:.5g} {-top - pad:.5g} {wide:.5g} {high:.5g}"'
        ' font-family="sans-serif">'
    )
    style = (
        f"<style>.seam{{stroke-width:{unit / 8:.3g}}}.edge{{stroke-width:{unit / 4:.3g};"
        "stroke-linejoin:round}</style>"
    )
    ground = (
        f'<rect x="{left - pad:.5g}" y="{-top - pad:.5g}" width="{wide:.5g}"'
        f' height="{high:.5g}" fill="{hex_colour(palette.ground)}"/>'
    )
    coats = tuple(zip(view.shapes, coat_colours(view.key, palette), strict=True))
    parts = [
        head,
        f"<title>{escape(alternative_text(view, wounds, selected))}</title>",
        style,
        ground,
        *(_shape(s, c, selected, palette) for s, c in coats if s.far),
        *(_outline(r, palette) for r in view.far_outlines),
        *(_shape(s, c, selected, palette) for s, c in coats if not s.far),
        _outline(view.outline, palette),
        *(_detail(d, palette) for d in view.details),
        *(_wound(m, unit, palette) for m in wounds),
    ]
    if caption:
        parts.append(
            f'<text x="{(left + right) / 2:.5g}" y="{-bottom + pad + 3 * unit:.5g}"'
            f' font-size="{4 * unit:.3g}" text-anchor="middle"'
            f' fill="{hex_colour(palette.ink)}">{escape(caption)}</text>'
        )
    return "\n".join([*parts, "</svg>\n"])
