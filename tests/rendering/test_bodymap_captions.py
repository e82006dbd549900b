"""The words beside a picture: which limb, from where, and which edge is which."""

import io
import xml.etree.ElementTree as ET
from itertools import combinations

import pytest
from PIL import Image
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

from fieldnotes.knowledge.bodymap import VIEW_KEYS, load_view, point_in
from fieldnotes.knowledge.language import load_language
from fieldnotes.rendering.bodymap.captions import caption, edges, heading
from fieldnotes.rendering.bodymap.cells import draw_cells, regions_shown
from fieldnotes.rendering.bodymap.grid import EMPTY, WHOLE
from fieldnotes.rendering.bodymap.inset import Layout
from fieldnotes.rendering.bodymap.letters import GLYPHS
from fieldnotes.rendering.bodymap.light import light_levels
from fieldnotes.rendering.bodymap.palette import DARK, LIGHT, SIXTEEN, readable_on, slot_colour
from fieldnotes.rendering.bodymap.plate import LETTER, letter_spots, plate_of
from fieldnotes.rendering.bodymap.png import draw_png
from fieldnotes.rendering.bodymap.scene import Scene, coat_grid, scene_grid, slot
from fieldnotes.rendering.bodymap.shades import levels
from fieldnotes.rendering.bodymap.svg import draw_svg
from fieldnotes.rendering.bodymap.wounds import WoundMark

CLOSE = [k for k in VIEW_KEYS if "." in k]
ARROWS = ("<", ">")
SVG = "{http://www.w3.org/2000/svg}"
# The horse's own axes: x forward, y to its left, z up. Where one looks, and what is up, per aspect.
LOOKS = {
    "dorsal": ((-1, 0, 0), (0, 0, 1)),
    "palmar": ((1, 0, 0), (0, 0, 1)),
    "plantar": ((1, 0, 0), (0, 0, 1)),
    "sole": ((0, 0, 1), (1, 0, 0)),
}


def to_the_right(look, up):
    """Give the direction to the viewer's right: the cross product of look and up."""
    (a, b, c), (d, e, f) = look, up
    return b * f - c * e, c * d - a * f, a * e - b * d


@pytest.mark.parametrize("key", CLOSE)
def test_the_edges_named_are_those_geometry_gives(key):
    side, _, view_id = key.partition(".")
    limb, _, aspect = view_id.rpartition("-")
    outward = 1 if side == "left" else -1
    back = "palmar" if limb == "fore" else "plantar"
    if aspect in LOOKS:
        right = to_the_right(*LOOKS[aspect])[1] * outward
        wanted = ("medial", "lateral") if right > 0 else ("lateral", "medial")
    else:
        inward = -outward if aspect == "lateral" else outward
        ahead = to_the_right((0, inward, 0), (0, 0, 1))[0]
        wanted = (back, "dorsal") if ahead > 0 else ("dorsal", back)
    assert edges(load_view(key))[:2] == wanted


@pytest.mark.parametrize("key", [k for k in CLOSE if not k.endswith("sole")])
def test_the_edges_named_are_where_the_drawing_has_those_regions(key):
    view, (side, _, view_id) = load_view(key), key.partition(".")
    limb = view_id.partition("-")[0]
    left, right = (point_in(view, f"{side}.{limb}.fetlock.{edge}")[0] for edge in edges(view)[:2])
    assert left < right


def test_no_two_close_ups_have_the_same_caption():
    assert len({caption(load_view(key)) for key in CLOSE}) == len(CLOSE)
    assert caption(load_view("left.fore-dorsal")) == "left fore, from the front"
    assert caption(load_view("right.hind-sole")) == "right hind foot, from below"
    assert caption(load_view("head-left")) == "head, left side"


def test_an_owner_reads_lay_words_and_whose_left_is_meant():
    assert edges(load_view("left.fore-dorsal"), lay=True)[:2] == ("inside", "outside")
    assert edges(load_view("left.hind-lateral"), lay=True)[:2] == ("front", "back")
    assert edges(load_view("front"))[:2] == ("its right", "its left")
    assert edges(load_view("back"))[:2] == ("its left", "its right")
    assert edges(load_view("left.fore-sole"))[2:] == ("toe", "heel")


@pytest.mark.parametrize("width", [12, 30, 60, 118])
def test_the_line_above_is_as_wide_as_the_picture_and_drops_what_has_no_room(width):
    old = WoundMark("b", 0, 20, past=True, year=2024)
    line = heading(Scene(load_view("left.fore-dorsal"), wounds=(old,)), width, ARROWS)
    assert len(line) == width
    assert ("left fore, from the front" in line) == (width >= 60)
    assert ("b: 2024" in line) == (width >= 60)
    assert width < 20 or line.split()[:2] == ["<", "medial"]


def test_a_region_lit_in_two_places_is_said_to_be_one():
    scene = Scene(load_view("front"), "left.fore.antebrachium.caudal_medial")
    assert "one region, seen in 2 places" in heading(scene, 118, ARROWS)
    assert "one region" not in heading(Scene(load_view("front"), "head.poll"), 118, ARROWS)


@pytest.mark.parametrize("manner", ["blocks", "braille", "plain"])
@pytest.mark.parametrize("key", ["left.fore-sole", "right.hind-medial", "front"])
def test_captions_stand_beside_the_drawing_in_every_manner(manner, key):
    view = load_view(key)
    rows = Layout(Scene(view), 78, 18).draw(manner=manner)
    assert [len(row) for row in rows] == [78] * 18
    lines = ["".join(cell.char for cell in row) for row in rows]
    assert caption(view) in lines[0]
    assert all(word in lines[0] for word in edges(view)[:2])
    if key.endswith("sole"):
        assert (lines[1].strip(), lines[-1].strip()) == ("toe", "heel")
    if manner == "plain":
        assert "".join(lines).isascii()


def test_a_click_below_the_caption_finds_the_region_drawn_there():
    view = load_view("left.fore-sole")
    layout = Layout(Scene(view), 60, 20)
    rows = layout.regions()
    assert len(rows) == 20
    assert set(rows[0] + rows[1] + rows[-1]) == {None}
    shown = [(x, y) for y, row in enumerate(rows) for x, r in enumerate(row) if r]
    x = shown[len(shown) // 2][0]
    low, high = (layout.point_at(x, at)[1] for at in (19, 2))
    assert view.bounds[1] - 1 < low < high < view.bounds[3] + 1


def test_a_small_picture_keeps_every_row_for_the_drawing():
    layout = Layout(Scene(load_view("front")), 30, 8)
    assert layout.drawn_height == len(layout.draw()) == 8


def luminance(colour):
    """Give the relative luminance of WCAG 2.1."""
    parts = [c / 255 for c in colour]
    red, green, blue = (c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("palette", [DARK, LIGHT, SIXTEEN])
def test_captions_and_letters_of_earlier_wounds_have_the_contrast_text_needs(palette):
    # WCAG 2.1, 1.4.3: 4.5 to 1 for text
    past = slot_colour("past", palette)
    assert contrast(past, readable_on(past, palette)) >= 4.5
    assert contrast(palette.quiet, palette.ground) >= 4.5


def test_a_wound_at_the_edge_of_a_limb_is_drawn_on_the_limb_only():
    view = load_view("left.fore-dorsal")
    for past in (False, True):
        mark = WoundMark("A", 2.5, 22, 120, 40, past=past)
        scene = Scene(view, wounds=(mark,))
        bare = coat_grid(view.key, 120, 160, scene.camera)
        number = slot(view, mark.shade)
        drawn = [(y, x) for y, row in enumerate(scene_grid(scene, 120, 160))
                 for x, n in enumerate(row) if n == number]  # fmt: skip
        assert drawn
        assert all(bare[y][x] != EMPTY for y, x in drawn)


def test_the_letter_of_a_wound_cut_by_the_picture_stays_in_it():
    view = load_view("left.fore-dorsal")
    near = Layout(Scene(view), 78, 18).aimed_at((0, 22), 3.5)
    frame = near.scene.frame(near.main_width, near.drawn_height)
    below = frame.top_cm - frame.step_cm * frame.height
    mark = WoundMark("b", 0, below - 0.4, 40, 30, past=True, year=2024)
    rows = draw_cells(
        Scene(view, wounds=(mark,), camera=near.scene.camera), near.main_width, near.drawn_height
    )
    assert "b" in "".join(cell.char for cell in rows[-1] + rows[-2])


@pytest.mark.parametrize(
    "key", ["left", "front", "left.fore-palmar", "left.fore-sole", "head-right"]
)
def test_a_letter_on_paper_covers_neither_the_animal_nor_another_letter(key):
    view = load_view(key)
    plate = plate_of(view)
    near = [i for i in view.region_ids if not view.is_far(i)]
    marks = tuple(WoundMark(x, *point_in(view, near[0]), 20, 10) for x in "AB")
    marks += (WoundMark("C", *point_in(view, near[-1]), 20, 10),)
    discs = [Point(s).buffer(LETTER * plate.unit_cm) for s in letter_spots(plate, view, marks)]
    body = unary_union([Polygon(s.ring).buffer(0) for s in view.shapes])
    sheet = box(plate.left, plate.bottom, plate.right, plate.top).buffer(0.01)
    assert all(d.intersection(body).area == 0 and sheet.contains(d) for d in discs)
    assert all(a.disjoint(b) for a, b in combinations(discs, 2))


def test_a_wound_on_paper_is_clipped_to_the_body_and_lets_the_frog_be_seen():
    view = load_view("left.fore-sole")
    mark = WoundMark("A", *point_in(view, "left.fore.foot.frog_central_third"), 50, 25)
    drawn = ET.fromstring(draw_svg(view, wounds=(mark,)))  # noqa: S314
    [wound] = [p for p in drawn.iter(f"{SVG}polygon") if p.get("clip-path")]
    [clip] = drawn.iter(f"{SVG}clipPath")
    assert wound.get("clip-path") == f"url(#{clip.get('id')})"
    assert float(wound.get("fill-opacity")) < 0.5
    picture = Image.open(io.BytesIO(draw_png(view, 300, wounds=(mark,)))).convert("RGB")
    bare = Image.open(io.BytesIO(draw_png(view, 300))).convert("RGB")
    plate = plate_of(view)
    above = picture.height - round(300 * plate.high_cm / plate.wide_cm)
    x = round((mark.x_cm - plate.left) / plate.wide_cm * 300)
    y = round((plate.top - mark.y_cm) / plate.wide_cm * 300) + above // 4
    shown, coat = picture.getpixel((x, y)), bare.getpixel((x, y))
    assert shown not in (coat, LIGHT.open)


@pytest.mark.parametrize("code", ["en", "de"])
def test_the_owner_reads_on_paper_which_side_is_which_and_every_letter_has_its_dots(code):
    language = load_language(code)
    said = set()
    for key in VIEW_KEYS:
        plate = plate_of(load_view(key), language)
        words = [w for w in (plate.above, *plate.between, *plate.under) if w]
        texts = [t.text for t in ET.fromstring(draw_svg(load_view(key), language=language))  # noqa: S314
                 .iter(f"{SVG}text")]  # fmt: skip
        assert sorted(texts) == sorted(words)
        said |= set("".join(words))
    assert said <= set(GLYPHS)


def test_the_toe_stands_above_the_sole_and_the_heel_below_it():
    texts = {
        t.text: float(t.get("y"))
        for t in ET.fromstring(draw_svg(load_view("right.hind-sole"))).iter(f"{SVG}text")  # noqa: S314
    }
    _, bottom, _, top = load_view("right.hind-sole").bounds
    assert texts["toe"] < -top < -bottom < texts["heel"]


@pytest.mark.parametrize("key", ["front", "back"])
def test_left_and_right_are_shaded_alike_from_in_front_and_behind(key):
    level = levels(key)
    pairs = [(i, i.replace("left.", "right.", 1)) for i in level if i.startswith("left.")]
    assert [one for one, other in pairs if level[one] != level[other]] == []
    light = light_levels(key, 61, 40, WHOLE)
    shown = regions_shown(Scene(load_view(key)), 61, 40)
    ends = [[v for v, i in zip(*row, strict=True) if i][:: max(1, sum(map(bool, row[1])) - 1)]
            for row in zip(light, shown, strict=True)]  # fmt: skip
    uneven = [row for row in ends if row and abs(row[0] - row[-1]) > 1]
    assert len(uneven) <= 2


@pytest.mark.parametrize("limb", ["fore", "hind"])
def test_a_chestnut_is_drawn_on_the_inside_of_a_limb_only(limb):
    # On the inside of the forearm above the carpus, of the hind limb at the distal hock: anatomy,
    # from memory.
    named = {a: [d for d in load_view(f"left.{limb}-{a}").details if d.name == "chestnut"]
             for a in ("medial", "lateral")}  # fmt: skip
    assert (len(named["medial"]), len(named["lateral"])) == (1, 0)
    height = named["medial"][0].points[0][1]
    carpus_or_hock = (55.8, 68) if limb == "fore" else (43, 56)
    assert carpus_or_hock[0] < height < carpus_or_hock[1]


def widest(view, height):
    """Give how wide the outline is at a height."""
    level = LineString([(-300, height), (300, height)])
    return Polygon(view.outline).intersection(level).length


def test_a_limb_from_in_front_has_its_forms():
    # Anatomy, from memory: carpus and fetlock wider than the cannon between, the pastern narrower
    # than the fetlock, the hoof widest at the ground; the hock wider than the gaskin above it.
    for key, joint, above in (("left.fore-dorsal", 51, 60), ("left.hind-plantar", 59, 69)):
        view = load_view(key)
        at = {y: widest(view, y) for y in (joint, above, 34, 22, 14.5, 8.5, 0.3)}
        assert at[joint] > 1.15 * at[above]
        assert at[joint] > 1.6 * at[34]
        assert at[22] > 1.4 * at[34]
        assert at[14.5] < 0.8 * at[22]
        assert at[0.3] > 1.2 * at[8.5]


def test_the_front_has_shoulders_and_the_neck_widens_to_its_base():
    front, back = load_view("front"), load_view("back")
    assert widest(front, 122) > 1.2 * widest(front, 90)
    assert widest(front, 122) > 1.5 * widest(front, 148)
    assert widest(back, 158.5) > 1.5 * widest(back, 186)
