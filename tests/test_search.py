"""A case is found by any part of what is known of it, and by a word with a slip of the finger."""

from __future__ import annotations

import pytest

from fieldnotes.casework import search
from fieldnotes.casework.desk import Casework
from fieldnotes.casework.search import close
from fieldnotes.domain.entries import HorseSet, Note, PremisesSet
from fieldnotes.domain.wounds import Contamination, Phase, WoundKind
from fieldnotes.storage.casebook import Casebook, create_store
from tests.builders import (
    a_drug_dispensed,
    a_drug_given,
    a_finding,
    a_horse,
    a_premises,
    a_report,
    a_wound,
    an_opening,
    an_owner,
    at,
)
from tests.desks import Clock, first_visit, known


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    folder = tmp_path_factory.mktemp("search") / "store"
    create_store(folder)
    desk = known(Casework(Casebook(folder), Clock(at(2))))
    book = Casebook(folder)
    visit = first_visit(given=(a_drug_given("flunixin"),), instructions="Keep the stall dry")
    found = (Note("kicked the trailer ramp"), a_report(1, "Bandage slipped overnight"))
    book.append("k7m2q", [an_opening(), visit, *found], "vet1", at(1))
    book.append("p3x9z", [an_opening(mechanism="wire fence")], "vet1", at(1))
    return desk


def refs(desk, text):
    return {s.ref for s in desk.find_cases(text)}


BOTH = {"k7m2q", "p3x9z"}


@pytest.mark.parametrize("word", ["fluni", "trailer", "slipped overnight", "stall", "KICKED ramp"])
def test_drugs_notes_reports_and_instructions_are_found_by_any_part(desk, word):
    assert refs(desk, word) == {"k7m2q"}


@pytest.mark.parametrize("part", ["horse", "owner", "premises", "region", "lay region"])
def test_a_case_is_found_by_animal_person_place_and_region(desk, part):
    line = desk.find_cases()[0]
    region = desk.knowledge.regions.get(line.line.wounds[0].region)
    words = {
        "horse": line.horse[1:4],
        "owner": an_owner().name.split()[-1][:4],
        "premises": line.premises[-4:],
        "region": region.standard_name,
        "lay region": region.lay_name,
    }
    assert refs(desk, words[part]) == BOTH


@pytest.mark.parametrize("typo", ["trialer", "traler", "flunxin", "tailer"])
def test_a_slip_of_the_finger_still_finds_it(desk, typo):
    assert len(refs(desk, typo)) == 1


def test_what_stands_in_no_record_finds_nothing(desk):
    assert refs(desk, "zzzz") == set()
    assert refs(desk, "trailer submarine") == set()


@pytest.mark.parametrize(
    ("word", "token", "fits"),
    [
        ("lacertation", "laceration", True),
        ("lacrat", "laceration", True),
        ("ab", "abc", False),
        ("hock", "dock", True),
        ("fence", "stall", False),
    ],
)
def test_how_near_is_near(word, token, fits):
    assert close(word, token) is fits


KINDS = {
    "bad smell": "a sign of infection found",
    "granulating": "a phase found",
    "puncture": "a kind of wound",
    "dirty": "its contamination",
    "phenylbutazone": "a drug dispensed",
    "penicillin": "a drug given",
    "hydrophilic foam": "a dressing",
    "box rest": "how it is kept",
    "hedge": "how it came about",
    "lame since": "the history",
}


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    folder = tmp_path_factory.mktemp("kinds") / "store"
    create_store(folder)
    desk = known(Casework(Casebook(folder), Clock(at(2))))
    wound = a_wound(kind=WoundKind.PUNCTURE, contamination=Contamination.DIRTY)
    found = a_finding(phase=Phase.GRANULATING, infection_signs=("bad smell",))
    visit = first_visit(
        findings=(found,),
        given=(a_drug_given("procaine-penicillin", name="procaine penicillin"),),
        dispensed=(a_drug_dispensed(),),
        housing="box rest",
    )
    opened = an_opening([wound], mechanism="hedge", history="lame since Monday")
    book = Casebook(folder)
    book.append("k7m2q", [opened, visit], "vet1", at(1))
    book.append("p3x9z", [an_opening()], "vet1", at(1))
    return desk


@pytest.mark.parametrize("words", KINDS, ids=KINDS.get)
def test_each_kind_of_thing_written_down_is_found_by_a_part_and_with_a_slip(told, words):
    assert refs(told, words) == {"k7m2q"}
    longest = max(words.split(), key=len)
    assert refs(told, longest[1:]) == {"k7m2q"}
    if len(longest) > 4:
        slipped = longest[:3] + longest[4] + longest[3] + longest[5:]
        assert refs(told, slipped) == {"k7m2q"}


def test_the_horse_of_a_name_stands_before_one_whose_owner_or_place_holds_the_letters(tmp_path):
    create_store(tmp_path / "store")
    desk = known(Casework(Casebook(tmp_path / "store"), Clock(at(2))))
    desk.save(PremisesSet(a_premises(id="brook", name="Ravel Brook Farm")))
    for number, name in enumerate(("Barnaby", "Crook", "Rookery", "Old Rook")):
        desk.save(HorseSet(a_horse(id=f"h{number}", name=name)))
        premises = "brook" if name == "Barnaby" else a_premises().id
        desk.open_case(an_opening(horse=f"h{number}", premises=premises))
    found = [s.horse for s in desk.find_cases("rook")]
    assert found == ["Old Rook", "Rookery", "Crook", "Barnaby"]


def test_after_a_save_only_the_case_written_to_is_looked_at_anew(desk, monkeypatch):
    seen = []
    real = search.summary_of
    monkeypatch.setattr(
        search, "summary_of", lambda line, *rest: seen.append(line.ref) or real(line, *rest)
    )
    desk.find_cases("fence")
    seen.clear()
    desk.find_cases("fence p")
    assert seen == []
    desk.note("p3x9z", "zinc plaster")
    assert refs(desk, "zinc") == {"p3x9z"}
    assert seen == ["p3x9z"]
