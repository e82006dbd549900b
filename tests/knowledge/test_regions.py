"""The regions: every row of the clinical table is there, and a typed name finds its region."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.domain.errors import KnowledgeError, UnknownNameError
from fieldnotes.knowledge.regions import FILE, load_regions, parse_json_table, read_regions
from fieldnotes.knowledge.source import shipped_text

REGIONS = load_regions()

# Rows of the region table of our clinical reference sheet (section 2.2), with their two flags:
# high motion, prone to proud flesh. Proud flesh: carpus and tarsus and below (Equine Wound
# Management, p. 189); high motion from memory.
ROWS = """
head.poll y n
head.eyelid y n
head.face_sinus n n
head.nostril_lip y n
head.mandible_throat y n
neck.dorsal n n
neck.lateral y n
withers n n
chest.pectoral y n
chest.axilla y n
chest.wall n n
back.loin n n
abdomen.flank_ventral n n
croup.hip n n
thigh.caudal_perineum y n
thigh.medial y n
fore.shoulder y n
fore.elbow y n
fore.antebrachium.cranial n n
fore.antebrachium.caudal_medial n n
fore.carpus.dorsal y y
fore.carpus.palmar y y
fore.carpus.lat_med y y
fore.metacarpus.dorsal n y
fore.metacarpus.palmar n y
fore.metacarpus.lat_med n y
fore.fetlock.dorsal y y
fore.fetlock.palmar y y
fore.fetlock.lateral_medial y y
fore.pastern.dorsal y y
fore.pastern.palmar y y
fore.coronary_band y y
fore.heel_bulb y y
fore.foot.frog_central_third n n
fore.foot.sole_other n n
hind.stifle y n
hind.gaskin.cranial_lateral n n
hind.gaskin.caudal_medial n n
hind.tarsus.dorsal y y
hind.tarsus.plantar y y
hind.tarsus.calcaneus y y
hind.tarsus.lat_med y y
hind.metatarsus.dorsal n y
hind.metatarsus.plantar n y
""".strip().splitlines()


@pytest.mark.parametrize("line", ROWS)
def test_every_row_of_the_clinical_table_has_its_regions_with_its_flags(line):
    row, motion, prone = line.split()
    classes = [c for c in REGIONS.classes if c.row == row]
    assert classes
    assert all(c.high_motion == (motion == "y") for c in classes)
    assert all((c.proud_flesh == "prone") == (prone == "y") for c in classes)


def test_the_combined_row_of_the_hind_foot_is_written_out_place_by_place():
    ids = {c.id for c in REGIONS.classes if c.row == "hind.fetlock/pastern/coronet/heel/foot"}
    for place in ("fetlock", "pastern"):
        for aspect in ("dorsal", "plantar", "lateral", "medial"):
            assert f"hind.{place}.{aspect}" in ids
    assert {"hind.coronary_band", "hind.heel_bulb", "hind.foot.frog_central_third"} <= ids


def test_each_side_has_at_least_sixty_regions():
    for side in ("left", "right"):
        assert sum(r.side == side for r in REGIONS.all) >= 60


def test_proud_flesh_threatens_the_carpus_the_tarsus_and_all_skin_below_and_nothing_else():
    for cls in REGIONS.classes:
        assert (cls.proud_flesh == "prone") == (cls.group == "distal limb"), cls.id


def test_names_carry_the_side_in_trade_words_and_in_the_owners_words():
    region = REGIONS.get("left.hind.metatarsus.dorsal")
    assert region.standard_name == "left dorsal metatarsus"
    assert region.lay_name == "front of the left hind cannon bone"
    assert region.cls.lay_name == "front of the hind cannon bone"
    assert REGIONS.get("right.neck.lateral").cls.lay_name == "side of the neck"
    assert REGIONS.get("withers").standard_name == "withers"


def test_no_two_regions_share_a_name():
    assert len({r.standard_name for r in REGIONS.all}) == len(REGIONS.all)
    assert len({r.lay_name for r in REGIONS.all}) == len(REGIONS.all)
    assert not any("{" in r.lay_name for r in REGIONS.all)


@pytest.mark.parametrize(
    ("text", "ids"),
    [
        ("left.hind.tarsus.calcaneus", {"left.hind.tarsus.calcaneus"}),
        ("LH point of hock", {"left.hind.tarsus.calcaneus"}),
        (
            "right.fore.metacarpus.lat_med",
            {f"right.fore.metacarpus.{a}" for a in ("lateral", "medial")},
        ),
        ("front of the left hind cannon", {"left.hind.metatarsus.dorsal"}),
        ("near fore fetlock dorsal", {"left.fore.fetlock.dorsal"}),
        ("off hind metatarsus plantar", {"right.hind.metatarsus.plantar"}),
        ("left ear", {"left.head.ear"}),
        ("poll", {"head.poll"}),
        ("LF knee front", {"left.fore.carpus.dorsal"}),
        ("left.withers", set()),
        ("   ", set()),
        ("lefty", set()),
        ("rihgt fore", set()),
        ("xyzzy", set()),
    ],
)
def test_a_typed_name_finds_exactly(text, ids):
    assert {r.id for r in REGIONS.find(text)} == ids


@pytest.mark.parametrize(
    ("text", "part"),
    [("fetl", "fetlock"), ("fetlok", "fetlock"), ("knee", "carpus"), ("hock", "tarsus")],
)
def test_a_beginning_a_slip_or_a_stable_word_finds_the_joint(text, part):
    assert {r.cls.part for r in REGIONS.find(text)} == {part}


def test_cannon_means_fore_and_hind_and_near_hind_means_the_whole_left_hind_limb():
    assert {r.cls.part for r in REGIONS.find("cannon")} == {"metacarpus", "metatarsus"}
    found = REGIONS.find("near hind")
    assert found == tuple(r for r in REGIONS.all if r.side == "left" and r.cls.limb == "hind")


def test_where_the_side_does_not_matter_a_row_key_gives_one_class():
    assert [c.id for c in REGIONS.classes_matching("fore.metacarpus.dorsal")] == [
        "fore.metacarpus.dorsal"
    ]


def test_an_ambiguous_name_is_refused_with_the_list_of_what_it_fits():
    with pytest.raises(UnknownNameError, match=r"fits 2 regions: left\.hind") as error:
        REGIONS.one("hind.tarsus.calcaneus")
    assert error.value.matches == ("left.hind.tarsus.calcaneus", "right.hind.tarsus.calcaneus")
    with pytest.raises(UnknownNameError, match="no region fits"):
        REGIONS.one("wing")
    with pytest.raises(UnknownNameError, match="no region is called"):
        REGIONS.get("wing")


@given(st.text(max_size=30))
def test_no_text_at_all_breaks_the_search(text):
    assert all(r in REGIONS.all for r in REGIONS.find(text))


@given(st.sampled_from(REGIONS.all))
def test_every_region_is_found_by_its_id_and_is_among_those_found_by_its_names(region):
    assert REGIONS.one(region.id) == region
    assert region in REGIONS.find(region.standard_name)
    assert region in REGIONS.find(region.lay_name)


def test_a_fetlock_joint_takes_8_to_12_ml():
    # Adams and Stashak's Lameness in Horses, 7th ed., pp. 168-169
    structures = {s.id: s for c in REGIONS.classes for s in c.structures}
    assert structures["fetlock_joint"].volume_ml == (8, 12)
    assert structures["elbow_joint"].volume_ml == (20, 30)
    # Adams and Stashak's Lameness in Horses, 7th ed., p. 182
    assert structures["tarsocrural"].volume_ml == (15, 20)


def test_under_the_front_of_the_fore_cannon_lie_extensor_tendons_and_bone_at_risk():
    # The Veterinary Care of the Horse, p. 323; Clem et al., Osseous sequestration, 1988
    cls = REGIONS.get("left.fore.metacarpus.dorsal").cls
    assert {"cde", "lde", "mc3"} <= {s.id for s in cls.structures}
    assert cls.sequestrum_risk


def test_every_fact_names_its_source():
    for cls in REGIONS.classes:
        assert cls.source
        assert cls.proud_flesh_source
        assert cls.girth_cm is None or cls.girth_source
        for structure in cls.structures:
            assert structure.source
            assert structure.volume_ml is None or structure.volume_source


@pytest.mark.parametrize(
    ("field", "value", "message"),
    [
        ("source", " ", r"regions.json, head.ear, source: every row"),
        ("structures", ["wing"], r"head.ear, structures: no structure is called 'wing'"),
        ("group", "wing", r"head.ear, group: 'wing' is not one of"),
        ("id", "head.poll", r"head.poll, id: this id stands twice"),
    ],
)
def test_a_broken_row_is_named(field, value, message):
    table = json.loads(shipped_text(FILE))
    table["region"][1][field] = value
    with pytest.raises(KnowledgeError, match=message):
        read_regions(parse_json_table(FILE, json.dumps(table)))


def test_a_broken_file_is_named_with_its_line():
    with pytest.raises(KnowledgeError, match=r"regions.json, line 2: "):
        parse_json_table(FILE, "{\n oops")
    with pytest.raises(KnowledgeError, match="an object is needed"):
        parse_json_table(FILE, "[]")
