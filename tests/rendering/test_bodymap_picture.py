"""The pictures: each region visible, wounds to scale, and nothing told by colour alone."""

import struct
import xml.etree.ElementTree as ET
import zlib

import pytest

from fieldnotes.knowledge.bodymap import VIEW_KEYS, load_view, point_in
from fieldnotes.rendering.bodymap import (
    DARK,
    LIGHT,
    SIXTEEN,
    BandageLayer,
    WoundMark,
    draw_cells,
    draw_png,
    draw_svg,
    draw_text,
    layers_svg,
    point_at,
    regions_under,
)

WOUND = WoundMark("A", 150, 115, 300, 100, 20)


@pytest.mark.parametrize("key", VIEW_KEYS)
@pytest.mark.parametrize("size", [(60, 16), (118, 34)])
def test_every_view_fits_the_size_and_stays_within_it(key, size):
    rows = draw_cells(load_view(key), *size)
    assert [len(row) for row in rows] == [size[0]] * size[1]
    assert any(cell.region_id for cell in rows[size[1] // 2])


@pytest.mark.parametrize("key", [k for k in VIEW_KEYS if not k.startswith("right")])
def test_at_a_comfortable_size_every_chosen_region_lights_up(key):
    view = load_view(key)
    for region_id in view.region_ids:
        rows = draw_cells(view, 118, 34, selected=region_id)
        lit = [c for row in rows for c in row if DARK.selected in (c.fg, c.bg)]
        assert lit, region_id


def test_a_wound_is_drawn_to_scale_and_carries_its_label():
    view = load_view("left")
    rows = draw_cells(view, 118, 34, wounds=(WOUND,))
    red = sum((c.fg == DARK.wound) + (c.bg == DARK.wound) for row in rows for c in row)
    across = point_at(view, 118, 34, 11, 0)[0] - point_at(view, 118, 34, 10, 0)[0]
    assert red * across**2 == pytest.approx(3.14159 / 4 * 30 * 10, rel=0.12)
    assert "A" in {c.char for row in rows for c in row}


def test_without_colour_the_choice_and_the_wound_are_told_by_characters():
    rows = draw_cells(load_view("left"), 78, 20, selected="left.chest.wall", wounds=(WOUND,),
                      plain=True)  # fmt: skip
    text = "".join(c.char for row in rows for c in row)
    assert {"#", "*", ":", ".", "A"} <= set(text)
    assert all(c.fg is None and c.bg is None for row in rows for c in row)


def test_sixteen_colours_are_never_mixed():
    allowed = set(vars(SIXTEEN).values())
    rows = draw_cells(load_view("left"), 78, 20, wounds=(WOUND,), palette=SIXTEEN)
    assert {c.fg for row in rows for c in row} <= allowed


def test_states_of_healing_differ_by_a_sign():
    signs = [WoundMark("A", 0, 0, state=s).sign for s in ("open", "improving", "worse", "healed")]
    assert len(set(signs)) == 4


def test_the_svg_says_in_words_what_it_shows_and_escapes_names():
    mark = WoundMark("<A>", 150, 115, 80, 30)
    root = ET.fromstring(draw_svg(load_view("left"), wounds=(mark,), caption="a < b"))  # noqa: S314
    title = root.find("{http://www.w3.org/2000/svg}title").text
    assert "Wound <A>, 8 x 3 cm, open: ribs, left side." in title
    assert "a < b" in [t.text for t in root.iter("{http://www.w3.org/2000/svg}text")]


def test_the_png_holds_the_picture_and_its_description():
    data = draw_png(load_view("left"), 200, wounds=(WOUND,), palette=LIGHT)
    assert data.startswith(b"\x89PNG\r\n\x1a\n")
    width, height = struct.unpack(">II", data[16:24])
    start = data.index(b"IDAT")
    size = struct.unpack(">I", data[start - 4 : start])[0]
    raw = zlib.decompress(data[start + 4 : start + 4 + size])
    assert len(raw) == height * (1 + 3 * width)
    assert bytes(LIGHT.wound) in raw
    assert b"Wound A, 30 x 10 cm" in data


def test_the_text_form_names_each_region_a_large_wound_reaches():
    text = draw_text(load_view("left"), wounds=(WoundMark("A", 150, 115, 900, 300),))
    assert text.count(";") > 4
    assert max(map(len, text.splitlines()[:20])) <= 78


def test_the_region_at_the_middle_of_a_wound_comes_first():
    view = load_view("left")
    x, y = point_in(view, "left.hind.stifle")
    assert regions_under(view, WoundMark("A", x, y, 20, 10))[0] == "left.hind.stifle"


def test_the_bandage_picture_lists_its_layers_from_the_skin_outward():
    layers = (
        BandageLayer("Foam dressing", "covers the wound", 0.5),
        BandageLayer("Cotton padding", "spreads pressure <evenly>", 2.5),
        BandageLayer("Cohesive bandage", "holds", 0.2),
    )
    root = ET.fromstring(layers_svg(layers))  # noqa: S314
    title = root.find("{http://www.w3.org/2000/svg}title").text
    assert "1. Foam dressing; 2. Cotton padding; 3. Cohesive bandage" in title
    heights = {
        float(r.get("y")): r for r in root.iter("{http://www.w3.org/2000/svg}rect") if r.get("y")
    }
    assert len(heights) == 4
