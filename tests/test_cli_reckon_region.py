"""`reckon region` and `case show --map`: the map, what lies beneath, how far, in words and JSON."""

import io
import json

import pytest
from shapely.geometry import Polygon
from shapely.ops import unary_union

from fieldnotes.cli.main import main
from fieldnotes.knowledge.bodymap import load_view
from fieldnotes.knowledge.polygons import ellipse


def asked(capsys, *words):
    code = main(["reckon", "region", *words])
    out, err = capsys.readouterr()
    return code, out, err


def document(capsys, *words):
    code, out, _ = asked(capsys, *words, "--json")
    assert code == 0
    return json.loads(out)


def test_a_place_is_told_with_its_structures_distances_and_cautions(capsys):
    found = document(capsys, "left.fore.fetlock.palmar", "--length-cm", "3", "--width-cm", "1")
    assert found["region"] == "left.fore.fetlock.palmar"
    assert found["view"] == "left.fore-palmar"
    assert {"digital_sheath", "fetlock_joint"} <= {s["structure"] for s in found["structures"]}
    assert "digital_sheath" in {n["structure"] for n in found["beneath"]}
    assert {"possible_entry", "no_chlorhexidine"} <= {c["id"] for c in found["cautions"]}
    assert all(c["source"] for c in found["cautions"])
    assert "approximate" in found["distances"]
    assert (found["high_motion"], found["proud_flesh"]) == (True, "prone")


def test_distances_are_those_shapely_measures(capsys):
    found = document(capsys, "left hind metatarsus lateral", "--view", "left.hind-lateral",
                     "--length-cm", "4", "--width-cm", "2", "--angle", "70")  # fmt: skip
    wound = Polygon(ellipse(found["x_cm"], found["y_cm"], 4, 2, 70))
    rings: dict[str, list[Polygon]] = {}
    for b in load_view("left.hind-lateral").structures:
        rings.setdefault(b.name, []).append(Polygon(b.ring).buffer(0))
    told = [*found["beneath"], *found["near"]]
    assert told
    for near in told:
        apart = wound.distance(unary_union(rings[near["name"]]))
        assert near["distance_cm"] == pytest.approx(apart, abs=0.02), near["name"]


def test_a_large_wound_lists_every_region_it_reaches(capsys):
    found = document(capsys, "left.chest.wall", "--view", "left", "--length-cm", "80",
                     "--width-cm", "30")  # fmt: skip
    assert found["regions"][0] == "left.chest.wall"
    assert len(found["regions"]) > 4
    _, out, _ = asked(capsys, "left.chest.wall", "--view", "left", "--length-cm", "80",
                      "--width-cm", "30")  # fmt: skip
    assert f"spans {len(found['regions'])} regions: left" in out


def test_the_text_has_the_picture_and_the_words_and_plain_letters_where_braille_is_lacking(
    capsys, monkeypatch
):
    code, out, _ = asked(capsys, "left hind fetlock plantar")
    assert code == 0
    assert sum("\u2800" < char <= "\u28ff" for char in out) > 100
    assert "digital flexor tendon sheath beneath" in out
    old_terminal = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    monkeypatch.setattr("sys.stdout", old_terminal)
    assert main(["reckon", "region", "left hind fetlock plantar"]) == 0
    old_terminal.flush()
    assert b":::" in old_terminal.buffer.getvalue()


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (("cannon",), "fits 16 regions"),
        (("lefty",), "no region fits 'lefty'"),
        (("poll", "--view", "left.hind-dorsal"), "does not show poll; it stands in left"),
        (("poll", "--view", "above"), "'above' is no view"),
        (("poll", "--x-cm", "500", "--y-cm", "3"), "the point lies beside the body"),
        (("poll", "--length-cm", "0"), "--length-cm: 0 mm is not within"),
        (("poll", "--depth-cm", "-1"), "--depth-cm: "),
    ],
)
def test_what_cannot_be_is_refused_with_the_reason(capsys, words, reason):
    code, out, err = asked(capsys, *words)
    assert (code, out) == (1, "")
    assert reason in err


def test_a_case_is_shown_with_its_map_for_people_and_without_for_programs(tmp_path, capsys):
    store = str(tmp_path / "demo")
    main(["demo", "--no-open", "--dir", store])
    main(["--data", store, "case", "list", "--json"])
    out = capsys.readouterr().out
    ref = json.loads(out[out.index("[") :])[0]["ref"]
    assert main(["--data", store, "case", "show", ref, "--map"]) == 0
    shown = capsys.readouterr().out
    assert "Drawing of a horse" in shown
    assert "Wound A" in shown
    assert main(["--data", store, "case", "show", ref, "--map", "--json"]) == 0
    assert "Drawing" not in json.dumps(list(json.loads(capsys.readouterr().out)))


def test_a_broken_drawing_is_named_and_other_views_still_open(monkeypatch, capsys):
    from fieldnotes.knowledge import bodymap

    whole = bodymap.shipped_text

    def broken(path):
        return '{\n"id": oops' if path == "map/back.json" else whole(path)

    monkeypatch.setattr(bodymap, "shipped_text", broken)
    bodymap._view.cache_clear()
    bodymap.views_of.cache_clear()
    try:
        code, _, err = asked(capsys, "left thigh caudal_perineum", "--view", "back")
        assert code == 1
        assert "map/back.json, line 2" in err
        assert document(capsys, "left.fore.carpus.dorsal", "--view", "left.fore-dorsal")["regions"]
        assert "back" not in bodymap.views_of("left.thigh.caudal_perineum")
    finally:
        bodymap._view.cache_clear()
        bodymap.views_of.cache_clear()
