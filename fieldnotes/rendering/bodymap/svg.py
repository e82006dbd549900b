"""The map as SVG for the handout and the record, with caption and alternative text."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Final

from fieldnotes.knowledge.language import ENGLISH
from fieldnotes.rendering.bodymap.palette import (
    LIGHT,
    Palette,
    hex_colour,
    slot_colour,
)
from fieldnotes.rendering.bodymap.plate import LETTER, lead, letter_spots, plate_of
from fieldnotes.rendering.bodymap.shades import coat_colours
from fieldnotes.rendering.bodymap.wounds import alternative_text

if TYPE_CHECKING:
    from fieldnotes.knowledge.bodymap import Detail, Shape, View
    from fieldnotes.knowledge.language import Language
    from fieldnotes.knowledge.polygons import Point, Ring
    from fieldnotes.rendering.bodymap.palette import Colour
    from fieldnotes.rendering.bodymap.plate import Plate
    from fieldnotes.rendering.bodymap.wounds import WoundMark

# in units of the plate
SIZE: Final = 6.5
LINE: Final = 8.0


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
    fills = {
        "hair": palette.hair,
        "white": palette.white,
        "fill": palette.ink,
        "horn": palette.crease,
    }
    if detail.kind in fills:
        fill = hex_colour(fills[detail.kind])
        return f'<polygon points="{points}" fill="{fill}"/>'
    return (
        f'<polyline points="{points}" fill="none" stroke="{ink}" stroke-opacity="0.6"'
        ' class="edge"/>'
    )


def _wound(
    mark: WoundMark, line: tuple[Point, Point], unit: float, palette: Palette, clip: str
) -> str:
    """Draw the wound to scale, what lies beneath shining through, and its letter off the body."""
    colour = hex_colour(slot_colour(mark.shade, palette))
    gone = mark.faint
    fill = "none" if gone else colour
    dash = f' stroke-dasharray="{unit:.3g}"' if gone else ""
    (ax, ay), (x, y) = line
    size = unit * (6 if len(mark.sign) < 2 else 4.8)
    return (
        f'<polygon points="{_points(mark.ring)}" fill="{fill}" fill-opacity="0.4"'
        f' stroke="{colour}" class="edge" clip-path="url(#{clip})"{dash}/>'
        f'<line x1="{ax:.4g}" y1="{-ay:.4g}" x2="{x:.4g}" y2="{-y:.4g}"'
        f' stroke="{colour}" class="edge"/>'
        f'<circle cx="{x:.4g}" cy="{-y:.4g}" r="{LETTER * unit:.3g}" fill="#ffffff"'
        f' stroke="{colour}" class="edge"/>'
        f'<text x="{x:.4g}" y="{-y + size * 0.35:.4g}" font-size="{size:.3g}"'
        f' text-anchor="middle" fill="{colour}">{escape(mark.sign)}</text>'
    )


def _body(view: View, clip: str) -> str:
    """Give what a wound is clipped by: no wound reaches into the air."""
    rings = (view.outline, *view.far_outlines)
    pieces = "".join(f'<polygon points="{_points(ring)}"/>' for ring in rings)
    return f'<clipPath id="{clip}">{pieces}</clipPath>'


def _words(plate: Plate, palette: Palette) -> list[str]:
    """Write which edge is which and the caption below the drawing, the toe above it."""
    unit, middle = plate.unit_cm, (plate.left + plate.right) / 2
    edge = unit * 2
    line = -plate.bottom + SIZE * unit
    placed = [
        (plate.left + edge, line, "start", plate.between[0]),
        (middle, line, "middle", plate.between[1]),
        (plate.right - edge, line, "end", plate.between[2]),
        (middle, -plate.top - unit, "middle", plate.above),
    ]
    first = line + any(plate.between) * LINE * unit
    placed += [
        (middle, first + n * LINE * unit, "middle", text) for n, text in enumerate(plate.under)
    ]
    return [
        f'<text x="{x:.5g}" y="{y:.5g}" font-size="{SIZE * unit:.3g}" text-anchor="{anchor}"'
        f' fill="{hex_colour(palette.quiet)}">{escape(text)}</text>'
        for x, y, anchor, text in placed
        if text
    ]


def draw_svg(
    view: View,
    *,
    selected: str | None = None,
    wounds: tuple[WoundMark, ...] = (),
    palette: Palette = LIGHT,
    caption: str = "",
    width_px: int = 640,
    language: Language = ENGLISH,
) -> str:
    """Draw a view as one SVG document, its words as an owner reads them; its title describes it."""
    plate = plate_of(view, language, caption)
    unit, pad = plate.unit_cm, LINE * plate.unit_cm if plate.above else 0
    wide, high = plate.wide_cm, plate.high_cm + pad + (plate.rows_below * LINE + 1) * unit
    name = f"map-{view.key.replace('.', '-')}"  # several pictures may share one page
    box = f"{plate.left:.5g} {-plate.top - pad:.5g} {wide:.5g} {high:.5g}"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" class="{name}" width="{width_px}"'
        f' height="{round(width_px * high / wide)}" viewBox="{box}" font-family="sans-serif">'
    )
    style = (
        f"<style>.{name} .seam{{stroke-width:{unit / 8:.3g}}}"
        f".{name} .edge{{stroke-width:{unit / 4:.3g};"
        "stroke-linejoin:round}</style>"
    )
    ground = (
        f'<rect x="{plate.left:.5g}" y="{-plate.top - pad:.5g}" width="{wide:.5g}"'
        f' height="{high:.5g}" fill="{hex_colour(palette.ground)}"/>'
    )
    coats = tuple(zip(view.shapes, coat_colours(view.key, palette), strict=True))
    spots = letter_spots(plate, view, wounds)
    parts = [
        head,
        f"<title>{escape(alternative_text(view, wounds, selected))}</title>",
        style,
        _body(view, name),
        ground,
        *(_shape(s, c, selected, palette) for s, c in coats if s.far),
        *(_outline(r, palette) for r in view.far_outlines),
        *(_shape(s, c, selected, palette) for s, c in coats if not s.far),
        _outline(view.outline, palette),
        *(_detail(d, palette) for d in view.details),
        *(
            _wound(m, lead(view, m, at), unit, palette, name)
            for m, at in zip(wounds, spots, strict=True)
        ),
        *_words(plate, palette),
    ]
    return "\n".join([*parts, "</svg>\n"])
