"""A note in one line: every field of a hundred phrases, and nothing silently wrong."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from fieldnotes.clinical.one_line import NoteReader
from fieldnotes.knowledge.drugs import load_drugs
from fieldnotes.knowledge.limits import load_limits
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.knowledge.shorthand import load_shorthand

if TYPE_CHECKING:
    from fieldnotes.clinical.one_line_found import OneLine

PHRASES = tomllib.loads(Path(__file__).with_name("phrases.toml").read_text("utf-8"))["phrase"]
READER = NoteReader(
    load_shorthand(),
    load_regions(),
    load_limits(),
    {d.id: d.name for d in load_drugs()},
    {"Copper": "copper"},
)
LEAST_RIGHT = 0.95


def _read(note: OneLine) -> dict[str, Any]:
    found: dict[str, Any] = {
        s.field: set(s.value) if isinstance(s.value, tuple) else s.value for s in note.said
    }
    if note.given:
        found["given"] = {g.drug for g in note.given}
    return found


def _wanted(means: dict[str, Any]) -> dict[str, Any]:
    plain = {True: "yes"}
    return {
        k: set(v) if isinstance(v, list) else plain.get(v, v) if isinstance(v, bool) else v
        for k, v in means.items()
    }


def test_a_hundred_phrases_are_read_right_and_none_silently_wrong() -> None:
    right = fields = 0
    wrong = []
    for phrase in PHRASES:
        note = READER.read(phrase["say"])
        got, want = _read(note), _wanted(phrase["means"])
        fields += len(want)
        right += sum(got.get(name) == value for name, value in want.items())
        wrong += [(phrase["say"], k, v) for k, v in got.items() if want.get(k) != v]
    assert len(PHRASES) == 100
    assert right / fields >= LEAST_RIGHT
    assert wrong == []


@pytest.mark.parametrize("phrase", PHRASES, ids=lambda p: p["say"][:40])
def test_what_is_not_understood_comes_back_as_text(phrase: dict[str, Any]) -> None:
    note = READER.read(phrase["say"])
    assert {u.field for u in note.unsure} == set(phrase.get("unsure", []))
    kept = " ".join(note.rest).casefold()
    for text in phrase.get("rest", []):
        assert all(word in kept for word in text.casefold().split()), (text, note.rest)


def test_no_word_of_a_note_is_lost() -> None:
    for phrase in PHRASES:
        note = READER.read(phrase["say"])
        told = " ".join(
            (
                *(s.words for s in note.said),
                *(g.words for g in note.given),
                *(u.words for u in note.unsure),
                *note.rest,
            )
        ).casefold()
        for word in phrase["say"].casefold().replace(",", " ").replace(";", " ").split():
            bare = word.strip(":.+?")
            assert bare in told or bare in READER.known.filler, (word, told)


@pytest.mark.parametrize(
    ("say", "name"),
    [
        ("drain out in 2 days", "removed"),
        ("remove sutures in 14 days", "removed"),
        ("joint probably not involved", "synovial_entry"),
        ("sheath not open", "synovial_entry"),
        ("no bone exposed", "exposed"),
        ("? bone exposed", "exposed"),
        ("bute 1 sachet bid 5 days, left with owner", "given"),
        ("never kicked", "mechanism"),
        ("5 l saline", "region"),
        ("lame 3/10 LF", "lameness"),
        ("cast next week", "placed"),
        ("not granulating", "phase"),
        ("degloved LH cannon dorsal and medial", "region"),
        ("1.1 mg/kg", "weight_kg"),
        ("foot bandage, recheck every 10 days", "change_every_days"),
        ("penicillin 2 ml per 45 kg im", "weight_kg"),
        ("10 ml/100 kg", "weight_kg"),
        ("wound is 2 cm from the joint", "length_mm"),
        ("review d10", "injured"),
        ("one leg by the gate", "length_mm"),
        ("skin flap viable", "kind"),
        ("foot soaked", "region"),
        ("w/o drain", "placed"),
        ("staples due out next week", "closure"),
    ],
)
def test_what_is_denied_doubted_or_still_to_come_sets_nothing(say: str, name: str) -> None:
    assert name not in _read(READER.read(say))


def test_a_guess_says_so() -> None:
    guesses = {
        s.field for s in READER.read("lacration LH dorsal cannon 6 cm, left open").said if s.guess
    }
    assert guesses == {"kind", "length_mm", "closure"}


@pytest.mark.parametrize(
    ("say", "field", "value"),
    [
        ("two by three cm", "width_mm", 30),
        ("half an hour old", "injured", "30min"),
        ("a week old", "injured", "7d"),
        ("3\u201d gash", "length_mm", 76.2),
        ("1 inch lac, probes to 2 cm", "depth_mm", 20),
        ("LF fetlock dorsal wound d10, clean", "injured", "10d"),
        ("left to heal by 2nd intention", "closure", "second intention"),
        ("sl d/c", "exudate", "low"),
        ("half limb bdg", "bandage", "distal limb"),
        ("rt hind pastern dorsal", "region", "right.hind.pastern.dorsal"),
        ("lac with a flap", "kind", "laceration"),
        ("penrose pulled", "removed", ("drain",)),
        ("honey drsg", "topical", "medical honey"),
    ],
)
def test_counts_short_forms_and_slang_are_read(say: str, field: str, value: object) -> None:
    assert READER.read(say).value(field) == value


def test_in_before_a_place_may_be_no_inches() -> None:
    said = {s.field: s.guess for s in READER.read("lac 5 x 3 in left fore cannon").said}
    assert said["length_mm"]
    said = {s.field: s.guess for s in READER.read("lac LF cannon 5 x 3 in, 4h").said}
    assert not said["length_mm"]


def test_a_dose_is_read_with_its_unit_and_route() -> None:
    note = READER.read("flunixin 500 mg iv, penicillin 22000 iu/kg im")
    assert [(g.drug, g.amount, g.unit, g.route) for g in note.given] == [
        ("flunixin", 500, "mg", "IV"),
        ("procaine-penicillin", 22000, "iu/kg", "IM"),
    ]


@pytest.mark.parametrize(
    "say", ["[bold]x[/]", "\x1b[2J", "x" * 5000, "8x" * 400, "??? ,,, ;;;", "\u202elac"]
)
def test_hostile_text_is_only_text(say: str) -> None:
    note = READER.read(say)
    assert not note.given
    assert len(note.said) < 3


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("lac RF cannon, thinking about primary closure", "closure"),
        ("will do primary closure in 3 days if clean", "closure"),
        ("LH pastern closed over penrose", "phase"),
        ("foal 3 d old, lac right forearm", "injured"),
        ("pus drained from left stifle", "placed"),
    ],
)
def test_an_intention_an_animals_age_or_another_sense_fills_nothing(text: str, field: str) -> None:
    assert field not in {said.field for said in READER.read(text).said}


def test_what_stands_beside_them_still_fills() -> None:
    said = {s.field: s for s in READER.read("3 d old lac, primary closure, penrose, sound").said}
    assert (said["injured"].value, said["closure"].value) == ("3d", "primary closure")
    assert said["placed"].value == ("drain",)
    assert said["lameness"].guess
    assert {"injured"} <= {s.field for s in READER.read("lac RF, bay mare, 4h old").said}
