"""The pictures: each region visible, wounds to scale, and nothing told by colour alone."""

import io
import struct
import xml.etree.ElementTree as ET
import zlib

import pytest
from PIL import Image, ImageChops
from shapely.geometry import Polygon

from fieldnotes.knowledge.bodymap import VIEW_KEYS, load_view, point_in
from fieldnotes.rendering.bodymap.cells import draw_cells, point_at, regions_shown
from fieldnotes.rendering.bodymap.layers import BandageLayer, layers_svg
from fieldnotes.rendering.bodymap.palette import DARK, LIGHT, SIXTEEN, slot_colour
from fieldnotes.rendering.bodymap.png import draw_png
from fieldnotes.rendering.bodymap.scene import Scene
from fieldnotes.rendering.bodymap.shades import levels, meeting
from fieldnotes.rendering.bodymap.svg import draw_svg
from fieldnotes.rendering.bodymap.text import draw_text
from fieldnotes.rendering.bodymap.wounds import SIGNS, WoundMark, regions_under

WOUND = WoundMark("A", 150, 115, 300, 100, 20)


@pytest.mark.parametrize("key", VIEW_KEYS)
@pytest.mark.parametrize("size", [(60, 16), (118, 34)])
def test_every_view_fits_the_size_and_stays_within_it(key, size):
    scene = Scene(load_view(key))
    rows = draw_cells(scene, *size)
    assert [len(row) for row in rows] == [size[0]] * size[1]
    assert any(regions_shown(scene, *size)[size[1] // 2])


@pytest.mark.parametrize("key", [k for k in VIEW_KEYS if not k.startswith("right")])
def test_at_a_comfortable_size_every_chosen_region_lights_up(key):
    view = load_view(key)
    for region_id in view.region_ids:
        rows = draw_cells(Scene(view, region_id), 118, 34)
        lit = [c for row in rows for c in row if DARK.selected in (c.fg, c.bg)]
        assert lit, region_id


def test_a_wound_is_drawn_to_scale_and_carries_its_label():
    scene = Scene(load_view("left"), wounds=(WOUND,))
    rows = draw_cells(scene, 236, 68)
    filled = {" ": 0, "▀": 2, "▄": 2, "▌": 2, "▐": 2, "█": 4} | dict.fromkeys("▘▝▖▗", 1)
    filled |= dict.fromkeys("▞▚", 2) | dict.fromkeys("▛▜▙▟", 3)
    cells = [(c, filled.get(c.char, 0)) for row in rows for c in row]
    red = sum(n * (c.fg == DARK.open) + (4 - n) * (c.bg == DARK.open) for c, n in cells)
    across = point_at(scene, 236, 68, 11, 0)[0] - point_at(scene, 236, 68, 10, 0)[0]
    assert red * across**2 / 2 == pytest.approx(3.14159 / 4 * 30 * 10, rel=0.12)
    assert "A" in {c.char for row in rows for c in row}


@pytest.mark.parametrize("manner", ["plain", "braille"])
def test_without_colour_the_choice_and_the_wound_are_told_by_characters(manner):
    view = load_view("left")
    bare, chosen, hurt = (
        draw_cells(scene, 78, 20, manner=manner)
        for scene in (
            Scene(view),
            Scene(view, "left.chest.wall"),
            Scene(view, "left.chest.wall", wounds=(WOUND,)),
        )
    )
    for one, other in ((bare, chosen), (chosen, hurt)):
        changed = [a for x, y in zip(one, other, strict=True) for a, b in zip(x, y, strict=True)
                   if a.char != b.char]  # fmt: skip
        assert len(changed) > 3
    assert "A" in {c.char for row in hurt for c in row}
    assert all(c.fg is None and c.bg is None for row in hurt for c in row)
    if manner == "plain":
        assert all(c.char.isascii() for row in hurt for c in row)


@pytest.mark.parametrize("key", [k for k in VIEW_KEYS if not k.startswith("right")])
def test_regions_that_meet_are_told_apart_by_their_shade(key):
    shade = levels(key)
    alike = [(a, b) for a, beside in meeting(key).items() for b in beside if shade[a] == shade[b]]
    assert len(alike) <= 0.05 * sum(map(len, meeting(key).values()))


def test_sixteen_colours_are_never_mixed():
    allowed = set(vars(SIXTEEN).values())
    rows = draw_cells(Scene(load_view("left"), wounds=(WOUND,)), 78, 20, palette=SIXTEEN)
    assert {c.fg for row in rows for c in row} | {c.bg for row in rows for c in row} <= allowed


def test_states_of_healing_differ_by_a_sign():
    marks = [WoundMark("A", 0, 0, state=state) for state in SIGNS]
    assert len({m.sign for m in marks}) == len(SIGNS)
    for palette in (DARK, LIGHT, SIXTEEN):
        assert len({slot_colour(m.shade, palette) for m in marks}) == len(SIGNS)


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
    assert bytes(LIGHT.open) in raw
    assert b"Wound A, 30 x 10 cm" in data


def test_wounds_of_the_png_are_told_apart_by_a_letter_that_stays_in_the_picture():
    def pixels(label, x_cm):
        data = draw_png(load_view("left"), 320, wounds=(WoundMark(label, x_cm, 120, 30, 10),))
        return Image.open(io.BytesIO(data)).convert("RGB")

    for x_cm in (150, 239):  # in the middle, and by the right edge
        apart = ImageChops.difference(pixels("A", x_cm), pixels("B", x_cm)).getbbox()
        assert apart is not None
        left, top, right, bottom = apart
        assert (right - left, bottom - top) == (5 * 2, 7 * 2)  # dots of two pixels


def test_the_text_form_names_each_region_a_large_wound_reaches():
    text = draw_text(Scene(load_view("left"), wounds=(WoundMark("A", 150, 115, 900, 300),)))
    assert text.count(";") > 4
    assert max(map(len, text.splitlines()[:20])) <= 78


def test_a_traced_wound_is_drawn_in_its_own_shape_and_turned():
    corner = ((0, 0), (8, 0), (8, 2), (2, 2), (2, 6), (0, 6))
    upright = Polygon(WoundMark("A", 150, 115, outline_cm=corner).ring)
    turned = Polygon(WoundMark("A", 150, 115, angle_deg=90, outline_cm=corner).ring)
    assert upright.area == pytest.approx(Polygon(corner).area)
    assert upright.bounds == pytest.approx((146, 112, 154, 118))
    assert turned.bounds == pytest.approx((147, 111, 153, 119))


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
