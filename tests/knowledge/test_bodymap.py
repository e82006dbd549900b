"""The drawings: a horse's proportions, regions that meet, mirror sides, arrow keys that lead."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon
from shapely.ops import unary_union

from fieldnotes.domain.errors import KnowledgeError, UnknownNameError
from fieldnotes.knowledge.bodymap import (
    CLOSE_UPS,
    VIEW_KEYS,
    WHOLE_VIEWS,
    load_view,
    placed_on,
    point_in,
    read_view,
    region_at,
    shown_as,
    views_of,
)
from fieldnotes.knowledge.polygons import ellipse, gap, inside, middle
from fieldnotes.knowledge.regions import load_regions, parse_json_table
from fieldnotes.knowledge.source import shipped_text
from fieldnotes.knowledge.walking import OPPOSITE, Walk, neighbour

REGIONS = load_regions()
BACK = {"left": "right", "right": "left"}


def shapes(view, *, far):
    return [Polygon(s.ring) for s in view.shapes if s.far == far]


@pytest.mark.parametrize("key", VIEW_KEYS)
def test_the_regions_of_a_view_fill_its_outline_without_gap_or_overlap(key):
    view = load_view(key)
    near = shapes(view, far=False)
    outline = Polygon(view.outline)
    whole = unary_union([p.buffer(0) for p in near])
    assert all(p.is_valid for p in near)
    assert outline.symmetric_difference(whole).area < 0.003 * outline.area
    assert sum(p.area for p in near) - whole.area < 0.002 * outline.area


@pytest.mark.parametrize("key", ["left", "right"])
def test_the_limbs_behind_are_tiled_too_and_lie_outside_the_near_body(key):
    view = load_view(key)
    far = shapes(view, far=True)
    drawn = unary_union([Polygon(r).buffer(0) for r in view.far_outlines])
    assert unary_union(far).symmetric_difference(drawn).area < 0.01 * drawn.area
    assert unary_union(far).intersection(Polygon(view.outline)).area < 1.0


@pytest.mark.parametrize(
    ("one", "other"),
    [("left", "right"), ("head-left", "head-right")]
    + [(f"left.{v}", f"right.{v}") for v in CLOSE_UPS],
)
def test_the_right_side_is_the_mirror_of_the_left(one, other):
    left, right = load_view(one), load_view(other)
    for shape, mirror in zip(left.shapes, right.shapes, strict=True):
        side, _, rest = shape.region_id.partition(".")
        swapped = f"{BACK[side]}.{rest}" if side in BACK else shape.region_id
        assert mirror.region_id == swapped
        assert mirror.ring == tuple((-x, y) for x, y in shape.ring)


@pytest.mark.parametrize("key", ["front", "back"])
def test_front_and_back_show_both_sides_alike(key):
    view = load_view(key)
    for region_id in view.region_ids:
        side, _, rest = region_id.partition(".")
        if side in BACK:
            area = sum(Polygon(r).area for r in view.rings(region_id))
            twin = sum(Polygon(r).area for r in view.rings(f"{BACK[side]}.{rest}"))
            assert area == pytest.approx(twin, rel=0.03, abs=0.6)


def test_the_viewer_of_the_front_sees_the_left_limb_on_the_right_and_behind_it_is_reversed():
    assert point_in(load_view("front"), "left.fore.carpus.dorsal")[0] > 0
    assert point_in(load_view("back"), "left.hind.tarsus.plantar")[0] < 0
    assert point_in(load_view("left"), "left.head.ear")[0] < point_in(load_view("left"), "tail")[0]
    assert point_in(load_view("left.fore-dorsal"), "left.fore.carpus.lateral")[0] > 0
    assert point_in(load_view("right.fore-dorsal"), "right.fore.carpus.lateral")[0] < 0
    assert point_in(load_view("left.hind-plantar"), "left.hind.tarsus.lateral")[0] < 0


def test_the_reference_horse_has_a_horses_proportions():
    # Proportions from memory: head about 0.4 of the withers height, body about as long as high,
    # carpus at about 0.31, point of the hock at about 0.4 of the height.
    view = load_view("left")
    behind = point_in(view, "withers")[0]
    withers = max(y for r in view.rings("withers") for x, y in r if x >= behind)
    assert 155 <= withers <= 162
    neck_and_trunk = [x for i in ("left.chest.pectoral", "left.thigh.caudal_perineum")
                      for r in view.rings(i) for x, _ in r]  # fmt: skip
    assert 0.98 <= (max(neck_and_trunk) - min(neck_and_trunk)) / withers <= 1.08
    lips = min((x, y) for r in view.rings("left.head.nostril_lip") for x, y in r)
    poll = max((y, x) for r in view.rings("head.poll") for x, y in r)[::-1]
    assert 0.36 <= Point(lips).distance(Point(poll)) / withers <= 0.45
    assert point_in(view, "left.fore.carpus.lateral")[1] / withers == pytest.approx(0.31, abs=0.02)
    hock = max(y for r in view.rings("left.hind.tarsus.calcaneus") for _, y in r)
    assert hock / withers == pytest.approx(0.41, abs=0.02)
    assert min(y for s in view.shapes for _, y in s.ring) == pytest.approx(0, abs=2)


def test_every_region_is_drawn_in_some_view():
    assert [r.id for r in REGIONS.all if not views_of(r.id)] == []


def test_every_row_of_the_table_stands_in_some_view_of_each_side():
    for side in ("left", "right"):
        drawn = {r.cls.row for r in REGIONS.all if r.side in (side, None) and views_of(r.id)}
        assert drawn == {c.row for c in REGIONS.classes}


def test_close_ups_and_whole_views_speak_of_the_same_regions():
    whole = {i for key in WHOLE_VIEWS for i in load_view(key).region_ids}
    for key in (k for k in VIEW_KEYS if k not in WHOLE_VIEWS and not k.endswith("sole")):
        for region_id in load_view(key).region_ids:
            if "frog" not in region_id:  # the underside shows from behind and below only
                assert any(region_id == w or region_id.startswith(f"{w}.") for w in whole)


def test_a_close_up_from_the_side_lies_on_the_same_centimetres_as_the_whole_horse():
    whole, close = load_view("left"), load_view("left.hind-lateral")
    for region_id in ("left.hind.metatarsus.lateral", "left.hind.fetlock.dorsal"):
        one = Polygon(whole.rings(region_id)[0])
        assert one.symmetric_difference(Polygon(close.rings(region_id)[0])).area < 0.08 * one.area


@pytest.mark.parametrize("key", VIEW_KEYS)
def test_arrow_keys_reach_every_region_leave_every_region_and_lead_back(key):
    view = load_view(key)
    ids = view.region_ids
    step = {i: {d: neighbour(view, i, d) for d in OPPOSITE} for i in ids}
    assert all(any(n != i for n in step[i].values()) for i in ids)
    for start in (ids[0], ids[-1]):
        seen, todo = {start}, [start]
        while todo:
            new = set(step[todo.pop()].values()) - seen
            seen |= new
            todo += new
        assert seen == set(ids)
    for start in ids:
        for direction in OPPOSITE:
            there = Walk(start).step(view, direction)
            if there.region_id != start:
                assert there.step(view, OPPOSITE[direction]) == Walk(start)


@given(st.sampled_from(VIEW_KEYS), st.data(), st.lists(st.sampled_from(sorted(OPPOSITE))))
def test_a_walk_is_undone_by_the_opposite_arrows_in_turn(key, data, directions):
    view = load_view(key)
    start = data.draw(st.sampled_from(view.region_ids))
    walk, taken = Walk(start), []
    for direction in directions:
        onward = walk.step(view, direction)
        if len(onward.trail) > len(walk.trail):
            taken.append(direction)
        elif onward != walk:
            taken.pop()
        walk = onward
    for direction in reversed(taken):
        walk = walk.step(view, OPPOSITE[direction])
    assert walk == Walk(start)


@given(st.sampled_from(VIEW_KEYS), st.data())
def test_the_point_inside_a_region_is_found_again_as_that_region(key, data):
    view = load_view(key)
    region_id = data.draw(st.sampled_from(view.region_ids))
    assert region_at(view, *point_in(view, region_id)) == region_id


def test_a_point_beside_the_body_is_no_region():
    assert region_at(load_view("left"), 150, 20) is None


@pytest.mark.parametrize("key", VIEW_KEYS)
def test_a_structure_is_outlined_within_the_body_and_over_a_region_whose_row_names_it(key):
    view = load_view(key)
    body = Polygon(view.outline)
    for beneath in view.structures:
        ring = Polygon(beneath.ring).buffer(0)
        assert ring.intersection(body).area > 0.9 * ring.area, beneath.name
        over = {s.region_id for s in view.shapes if Polygon(s.ring).buffer(0).intersects(ring)}
        named = {s.id for i in over for s in REGIONS.get(i).cls.structures}
        assert beneath.structure_id in named, beneath.name


@pytest.mark.parametrize(("whole", "close"), [("front", "fore-dorsal"), ("back", "hind-plantar")])
def test_front_and_back_outline_the_pouches_of_both_limbs_at_the_height_of_the_close_up(
    whole, close
):
    def reach(ring):
        return min(y for _, y in ring), max(y for _, y in ring)

    pouches = {b.name: b for b in load_view(whole).pouches}
    for side in ("left", "right"):
        for beneath in load_view(close, side).pouches:
            same = pouches[f"{side} {beneath.name}"]
            assert reach(same.ring) == reach(beneath.ring)
            assert region_at(load_view(whole), *middle(same.ring)).startswith(side)


@pytest.mark.parametrize("limb", ["fore", "hind"])
def test_a_point_shown_in_a_close_up_from_outside_holds_on_the_whole_side(limb):
    region = f"right.{limb}.fetlock.lateral"
    close = load_view(f"right.{limb}-lateral")
    x, y = point_in(close, region)
    point = (x + 0.5, y)
    assert placed_on(load_view("right"), region, close.key, point) == point
    assert placed_on(close, region, close.key, point) == point
    back = load_view(f"right.{limb}-{'palmar' if limb == 'fore' else 'plantar'}")
    assert placed_on(back, region, close.key, point) == point_in(back, region)
    assert placed_on(load_view("head-left"), region, close.key, point) is None


def test_a_place_is_shown_under_its_finer_or_coarser_name():
    assert shown_as(load_view("head-left"), "left.head.eyelid") == "left.head.eyelid.upper"
    assert shown_as(load_view("left"), "left.head.eyelid.upper") == "left.head.eyelid"
    assert shown_as(load_view("left"), "left.hind.foot.sole_other") is None


def test_an_unknown_view_is_refused_with_the_list():
    with pytest.raises(UnknownNameError, match="'above' is no view; there are left, right"):
        load_view("above")
    with pytest.raises(UnknownNameError, match="does not show 'tail'"):
        point_in(load_view("front"), "tail")


def test_the_foot_from_below_is_the_fore_foot_unless_the_hind_is_named():
    assert load_view("sole", "right").key == "right.fore-sole"
    assert load_view("right.hind-sole").rings("right.hind.foot.frog_central_third")


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda d: d["shapes"][0].update(region="wing"), "shapes 1, region: no region is called"),
        (lambda d: d["shapes"][0].update(polygon=[[0, 1]]), "shapes 1, polygon: a list of at"),
        (lambda d: d["shapes"][1].update(polygon=[[0, "a"]] * 3), "shapes 2, polygon: each point"),
        (lambda d: d.pop("source"), "sole, source: a text is needed"),
        (lambda d: d.pop("shapes"), "must be a list of tables"),
    ],
)
def test_a_broken_drawing_is_named_with_its_row_and_field(change, message):
    table = parse_json_table("map/sole.json", shipped_text("map/sole.json"))
    data = json.loads(json.dumps(table.data))
    change(data)
    with pytest.raises(KnowledgeError, match=message):
        read_view(parse_json_table("map/sole.json", json.dumps(data)), "left")


coordinate = st.floats(-30, 30)
some_ellipse = st.builds(
    ellipse, coordinate, coordinate, st.floats(0.5, 20), st.floats(0.5, 20), st.floats(0, 180)
)


@given(some_ellipse, some_ellipse)
def test_the_gap_between_two_rings_agrees_with_shapely(one, other):
    assert gap(one, other) == pytest.approx(Polygon(one).distance(Polygon(other)), abs=1e-6)


@given(some_ellipse, coordinate, coordinate)
def test_inside_agrees_with_shapely(ring, x, y):
    if Polygon(ring).exterior.distance(Point(x, y)) > 1e-6:
        assert inside(ring, x, y) == Polygon(ring).contains(Point(x, y))
    assert Polygon(ring).contains(Point(middle(ring)))
