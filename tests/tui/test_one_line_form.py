"""A note in one line fills a visit form: every answer fits its field, nothing is lost."""

from __future__ import annotations

import pytest

from fieldnotes.clinical.one_line import NoteReader
from fieldnotes.knowledge.shorthand import load_shorthand
from fieldnotes.tui.forms.first_visit import FirstVisit
from fieldnotes.tui.forms.one_line import fill, lines_of, note_answer
from fieldnotes.tui.forms.recheck import Recheck

SPOKEN = (
    "Juniper: lac LH dorsal cannon 8x3 cm 4h old, bone not felt, primary closure, penrose drain, "
    "foam + half-limb bandage, flunixin 500 mg iv"
)


def read(desk, text):
    known = desk.knowledge
    names = {h.name: h.id for h in desk.register().horses.values()}
    drugs = {d.id: d.name for d in known.drugs}
    return NoteReader(load_shorthand(), known.regions, known.limits, drugs, names).read(text)


def filled(form, desk, text, **answers):
    note = read(desk, text)
    return fill(form, answers, note, "A"), note


def test_a_first_visit_is_filled_in_as_said(desk_and_drafts):
    desk, _ = desk_and_drafts
    horse = next(iter(desk.register().horses.values()))
    form = FirstVisit(desk)
    done, note = filled(form, desk, SPOKEN.replace("Juniper", horse.name))
    answers = {p.key: p.answer for p in done.puts}
    assert answers == {
        "horse": horse.id,
        "injured_at": "4h",
        "wounds.A.region": "left.hind.metatarsus.dorsal",
        "wounds.A.kind": "laceration",
        "findings.A.size": "8 x 3",
        "care.A.closure": "primary closure",
        "care.A.placed": "drain",
        "care.A.exploration": "bone not felt",
        "care.A.bandage": "distal limb",
        "care.A.layer.dressing": "hydrophilic foam dressing",
        "drug.1.drug": "flunixin",
        "drug.1.dose": "0",
        "drug.1.amount": "500",
    }
    assert done.kept == ("penrose",)
    visit = form.build({**answers, "care.A.every": "3"}).visit
    [care] = visit.care
    assert care.closure.method == "primary closure"
    assert care.bandage.layers[0].material == "hydrophilic foam dressing"
    assert any("half-limb bandage" in line for line in lines_of(done, note, 120))


def test_a_recheck_takes_what_it_asks_for(desk_and_drafts):
    desk, _ = desk_and_drafts
    ref = next(c.ref for c in desk.find_cases(status="open") if c.horse == "Bramble")
    done, _ = filled(
        Recheck(desk, ref), desk, "6x2, granulating, low exudate, gran 1, drain pulled, redness"
    )
    assert {p.key: p.answer for p in done.puts} == {
        "findings.A.size": "6 x 2",
        "findings.A.phase": "granulating",
        "findings.A.exudate": "low",
        "findings.A.granulation_grade": "1",
        "findings.A.infection_signs": "redness",
        "care.A.removed": "drain",
    }


@pytest.mark.parametrize(
    ("say", "dose", "kept"),
    [
        ("bute 2 g iv", {"dose": "IV", "amount": "2000"}, ()),
        ("bute 2 g", {}, ("bute 2 g",)),  # by which route?
        ("procaine pen 20 ml IM", {}, ("procaine pen 20 ml IM",)),  # of which strength?
        ("flunixin 1.1 mg/kg iv", {}, ("flunixin 1.1 mg/kg iv",)),
        ("detomidine", {}, ()),
    ],
)
def test_a_dose_is_taken_only_where_its_page_holds_it_as_said(desk_and_drafts, say, dose, kept):
    desk, _ = desk_and_drafts
    horse = next(h for h in desk.register().horses.values() if h.weight())
    form = FirstVisit(desk)
    done, _ = filled(form, desk, f"{horse.name}: {say}")
    found = {p.key.removeprefix("drug.1."): p for p in done.puts if p.key.startswith("drug.1.")}
    assert {k: p.answer for k, p in found.items() if k not in {"drug", "dose"}} == {
        k: v for k, v in dose.items() if k != "dose"
    }
    assert found["dose"].shown.startswith(dose["dose"]) if dose else "dose" not in found
    assert done.kept == kept
    assert all(p.guess for p in found.values())


def test_what_no_field_takes_stays_as_text(desk_and_drafts):
    desk, _ = desk_and_drafts
    done, _ = filled(FirstVisit(desk), desk, "lac lip lower left 2 cm, foot bandage, redness")
    assert "foot bandage" in done.kept  # nothing is wrapped on a lip
    assert "redness" in done.kept  # signs of infection are asked from the first recheck on


def test_a_place_that_may_be_several_is_left_to_choose(desk_and_drafts):
    desk, _ = desk_and_drafts
    form = FirstVisit(desk)
    done, _ = filled(form, desk, "lac LH cannon 6x2")
    [put] = [p for p in done.puts if p.key == "wounds.A.region"]
    assert (put.answer, put.shown, put.guess) == ("LH cannon", "which one?", True)
    field = next(f for p in form.panes({}) for f in p.fields if f.key == put.key)
    assert len(field.options(put.answer)) == 4


@pytest.mark.parametrize(
    ("before", "kept", "after"),
    [("", ("a", "b"), "a; b"), ("seen a", ("a", "c"), "seen a; c"), ("x", (), "x")],
)
def test_the_note_gets_each_text_once(before, kept, after):
    assert note_answer(before, kept) == after
