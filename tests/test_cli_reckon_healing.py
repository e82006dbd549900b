import json

import pytest

from fieldnotes.cli.main import main

SYN_1 = "day,area_cm2\n0,4.00\n7,5.00\n14,6.00\n21,4.44\n28,3.11\n"


@pytest.fixture
def reckon(capsys, tmp_path):
    def call(*args, text=None):
        words = list(args)
        if text is not None:
            path = tmp_path / "in.csv"
            path.write_bytes(text if isinstance(text, bytes) else text.encode())
            words.insert(1, str(path))
        code = main(["reckon", *words, "--json"])
        out, err = capsys.readouterr()
        return code, json.loads(out) if out else None, err

    return call


def test_a_wound_is_sized_as_an_oval_and_as_traced(reckon, tmp_path):
    code, size, _ = reckon("wound", "--length-cm", "4.2", "--width-cm", "2.8")
    assert code == 0
    assert size["area_cm2"] == pytest.approx(9.24, abs=0.005)
    outline = tmp_path / "edge.csv"
    outline.write_text("x,y\n0,0\n3,0\n3,2\n0,2\n")
    _, size, _ = reckon("wound", "--outline", str(outline))
    assert (size["area_cm2"], size["perimeter_cm"]) == (6.0, 10.0)


@pytest.mark.parametrize(
    "args",
    [("--length-cm", "400", "--width-cm", "3"), ("--length-cm", "4"), (), ("--outline", "/no")],
)
def test_a_wound_of_four_metres_or_half_a_size_is_refused(reckon, args):
    code, size, err = reckon("wound", *args)
    assert (code, size) == (1, None)
    assert err.startswith("fieldnotes: ")


def test_a_course_comes_with_every_promised_key(reckon):
    code, course, _ = reckon("course", "--region", "metatarsus", text=SYN_1)
    assert code == 0
    first, *_, last = course["points"]
    assert first["advance_mm"] is None
    assert first["reduction_percent"] == 0
    assert last["rate_mm_per_day"] == pytest.approx(0.276, abs=0.01)
    assert course["closure"]["likely_day"] == pytest.approx(64, abs=1)
    assert course["closure_withheld"] is None
    assert course["flags"] == []


def test_a_stalled_course_says_why_and_by_whose_word(reckon):
    rows = "day,area_cm2\n0,6.25\n7,8.1\n14,9.4\n21,9.6\n28,9.4\n35,9.5\n"
    _, course, _ = reckon("course", "--region", "metatarsus", "--bandaged", text=rows)
    assert course["closure"] is None
    assert {f["flag"] for f in course["flags"]} >= {"stalled", "proud_flesh"}
    assert all(f["why"] and f["source"] and f["urgency"] == "next visit" for f in course["flags"])


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("day,area_cm2\n0,4\n7,3\n7,2\n", "line 4: day 7 stands twice"),
        ("day,area_cm2\n0,4\n9,3\n7,2\n", "line 4: day 7 comes after day 9"),
        ("day,area_cm2\n0,4\n7,-3\n", "line 3, area: -3 cm2: a size cannot be negative"),
        ("day,area_cm2\n0,4\n7,nan\n", "line 3: nan: a plain number"),
        ("day,area_cm2\n0,4\n7,\n", "line 3: nothing: a plain number"),
        ("day,area_cm2\n0,4\n7,0\n9,1\n", "line 3: an area of 0"),
        ("day,length_cm,width_cm\n0,400,3\n", "line 2, length: 400 cm is too large"),
        ("day,length_mm,width_cm\n0,40,3\n", "line 1: sizes are taken in cm"),
        ("day,length_cm,width_cm\n0,4,3\n7,39,28\n", "line 3: from 9.42 to 858 cm2"),
        ("day,area_cm2\n0,4 cm\n", "line 2: 4 cm: a plain number"),
        ("0,4\n7,3\n", "line 1: the header is missing"),
        ("day,area_cm2\n0,4,1\n7,3\n", "line 2: 3 values"),
        ("day,area_cm2\n-1,4\n", "line 2: day -1 is not within"),
        ("day,area_cm2,perimeter_cm\n0,12,1\n", "line 2, perimeter: 1 cm cannot go round"),
        ("day,area_cm2\n", "no row"),
        ("", "the file is empty"),
        (b"\xff\xfe\x00", "no UTF-8 text"),
    ],
)
def test_a_series_that_cannot_be_right_is_refused_naming_its_line(reckon, rows, words):
    code, course, err = reckon("course", text=rows)
    assert (code, course) == (1, None)
    assert words in err
    assert "Traceback" not in err


def test_a_region_is_taken_if_all_it_may_mean_heal_alike(reckon):
    assert reckon("course", "--region", "fetlock", text=SYN_1)[0] == 0
    code, _, err = reckon("course", "--region", "left", text=SYN_1)
    assert code == 1
    assert "neck.lateral" in err
