"""What a wound may have opened: beneath, near, and what to say about it."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from fieldnotes.clinical.synovial import Probe, distances, risk_at, risk_of_region
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.knowledge.bodymap import VIEW_KEYS, load_view, point_in
from fieldnotes.knowledge.polygons import middle


def ids(risk):
    return {c.id for c in risk.cautions}


def test_a_penetrating_heel_bulb_wound_names_every_structure_at_risk():
    # Equine Clinical Medicine, Surgery and Reproduction, 2nd ed., p. 80
    risk = risk_of_region("fore.heel_bulb", penetrating=True)
    beneath = {n.structure.id for n in risk.beneath}
    assert {
        "coffin_joint",
        "digital_sheath",
        "navicular_bursa",
        "ddft",
        "digital_vessels",
    } <= beneath
    assert "heel_bulb" in ids(risk)


@pytest.mark.parametrize("limb", ["fore", "hind"])
@pytest.mark.parametrize(("depth", "deep"), [(20, True), (15, True), (14.9, False), (10, False)])
def test_a_nail_in_the_middle_of_the_frog_is_an_alarm_from_15_mm_and_never_safe(limb, depth, deep):
    # Equine Clinical Medicine, Surgery and Reproduction, 2nd ed., p. 117; below it radiographs with
    # a probe: Adams and Stashak's Lameness in Horses, 7th ed., p. 481
    region = f"{limb}.foot.frog_central_third"
    risk = risk_of_region(region, depth_mm=depth, penetrating=True)
    assert ("frog_deep" in ids(risk)) == deep
    assert "frog_any" in ids(risk)
    assert not any("safe" in c.text or "clear" in c.text for c in risk.cautions)


def test_an_armpit_wound_warns_of_air_on_days_2_to_4_and_asks_for_packing():
    # Joswig and Hardy, Axillary wounds, 2012
    text = next(c.text for c in risk_of_region("chest.axilla").cautions if c.id == "axilla")
    assert "days 2 to 4" in text
    assert "pneumothorax" in text
    assert "Pack" in text


def test_no_chlorhexidine_where_entry_is_not_excluded():
    # Malone, Large Animal Surgery Supplemental Notes: lacerations involving synovial structures
    for penetrating in (None, True):
        assert "no_chlorhexidine" in ids(
            risk_of_region("fore.fetlock.palmar", penetrating=penetrating)
        )
    assert "no_chlorhexidine" not in ids(risk_of_region("fore.fetlock.palmar", penetrating=False))
    assert "no_chlorhexidine" not in ids(risk_of_region("thigh.medial"))


def test_a_wound_on_the_palmar_pouch_of_the_fetlock_lies_on_the_joint():
    view = load_view("left.fore-lateral")
    pouch = next(b for b in view.structures if b.name == "fetlock joint, palmar pouch")
    x = sum(p[0] for p in pouch.ring) / len(pouch.ring)
    y = sum(p[1] for p in pouch.ring) / len(pouch.ring)
    risk = risk_at(Probe("left.fore-lateral", x, y, 15, 8, 80))
    assert "fetlock_joint" in {n.structure.id for n in risk.beneath}
    assert {"possible_entry", "no_chlorhexidine"} <= ids(risk)


def test_on_a_limb_seen_behind_the_near_limbs_outlines_are_not_measured():
    view = load_view("left")
    shape = next(s for s in view.shapes if s.far and "right.fore.carpus" in s.region_id)
    risk = risk_at(Probe("left", *middle(shape.ring), 10, 10))
    assert risk.regions[0] == shape.region_id
    assert {r.partition(".")[0] for r in risk.regions} == {"right"}
    assert (risk.beneath, risk.near) == ((), ())
    assert risk.entry_not_excluded


def test_a_wound_larger_than_its_region_lists_them_all():
    x, y = point_in(load_view("left"), "left.chest.wall")
    risk = risk_at(Probe("left", x, y, 900, 400, 0))
    assert risk.regions[0] == "left.chest.wall"
    assert len(risk.regions) > 5


@pytest.mark.parametrize(
    ("probe", "field"),
    [
        (Probe("left", 150, 20, 10, 10), "point"),
        (Probe("left", 150, 115, 0, 10), "length_mm"),
        (Probe("left", 150, 115, 10, 4000), "width_mm"),
        (Probe("left", 150, 115, 10, 10, 0, -1), "depth_mm"),
    ],
)
def test_a_point_beside_the_body_or_a_size_that_cannot_be_is_refused(probe, field):
    with pytest.raises(RefusedInputError) as error:
        risk_at(probe)
    assert error.value.field == field


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from([k for k in VIEW_KEYS if load_view(k).structures]),
    st.data(),
    st.floats(2, 200),
    st.floats(2, 100),
    st.floats(0, 180),
)
def test_distances_agree_with_shapely(key, data, length, width, angle):
    view = load_view(key)
    x, y = point_in(view, data.draw(st.sampled_from(view.region_ids)))
    ring = Probe(key, x, y, length, width, angle).ring
    expected = sorted(Polygon(ring).distance(Polygon(b.ring).buffer(0)) for b in view.structures)
    measured = [n.distance_cm for n in distances(view, ring)]
    assert measured == pytest.approx(expected, abs=0.02)
