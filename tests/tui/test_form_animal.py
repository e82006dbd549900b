"""The animal's page, a death with its vials, and the register on paper: what they write."""

from __future__ import annotations

import asyncio
import datetime as dt
from dataclasses import replace

import pytest
from keys import Keys
from shots import screen_text

from fieldnotes.casework.pharmacy import Pharmacy
from fieldnotes.domain.entries import Death, HorseSet, PracticeSet
from fieldnotes.domain.errors import StoreError
from fieldnotes.domain.patients import FoodChain, Sex
from fieldnotes.domain.vials import Vial, VialMove, VialReceived
from fieldnotes.tui.forms.death import DeathForm
from fieldnotes.tui.forms.horse_form import animal
from fieldnotes.tui.forms.register_print import RegisterPrint
from fieldnotes.tui.forms.screen import FormScreen

NOW = dt.datetime(2026, 3, 3, 10, 30, tzinfo=dt.UTC)  # as the sample store is made


@pytest.fixture
def desk(desk_and_drafts):
    return desk_and_drafts[0]


def case_of(desk):
    return desk.find_cases(status="open")[0].ref


def said(problems):
    return {p.field: p.message for p in problems}


def test_the_animals_page_keeps_what_the_rules_ask_for(desk):
    ref = case_of(desk)
    before = replace(desk.file(ref).horse, sex=Sex.MARE, food_chain=FoodChain.UNKNOWN)
    desk.save(HorseSet(before))
    form = animal(desk, ref)
    answers = {
        "allergies": "penicillin: hives; flunixin", "food_chain": "intended", "competes": "yes",
        "governing_body": "FEI", "foaling_due": "2026-05-20", "lactating": "yes",
        "weight_kg": "512", "conditions": "renal disease",
    }  # fmt: skip
    assert not form.problems(answers)
    form.save(answers)
    after = desk.file(ref).horse
    assert after.allergies == ("penicillin: hives", "flunixin")
    assert (after.food_chain, after.competes, after.governing_body) == (
        FoodChain.INTENDED, True, "FEI",
    )  # fmt: skip
    assert (after.foaling_due, after.lactating) == (dt.date(2026, 5, 20), True)
    assert (after.weight().kg, after.conditions) == (512, ("renal disease",))
    assert (after.name, after.parties, after.weights[:-1]) == (
        before.name, before.parties, before.weights,
    )  # fmt: skip
    assert after.status_words() == (
        "! allergy: penicillin: hives, flunixin", "food chain: intended", "competes FEI",
        "in foal, due 20 May 2026", "foal at foot",
    )  # fmt: skip


def test_a_horse_leaves_the_food_chain_by_consent_and_never_comes_back(desk):
    ref = case_of(desk)
    horse = desk.file(ref).horse
    for before, after, word in (
        (FoodChain.INTENDED, "excluded", "consent"), (FoodChain.EXCLUDED, "intended", "for life"),
        (FoodChain.UNKNOWN, "excluded", ""),
    ):  # fmt: skip
        desk.save(HorseSet(replace(horse, food_chain=before)))
        found = said(animal(desk, ref).problems({"food_chain": after}))
        assert word in found.get("food_chain", "")
        assert bool(found) is bool(word)


def test_only_a_mare_is_in_foal_and_not_for_two_years(desk):
    ref = case_of(desk)
    gelding = {"sex": "gelding", "foaling_due": "2026-05-20", "lactating": "yes"}
    assert set(said(animal(desk, ref).problems(gelding))) == {"foaling_due", "lactating"}
    late = said(animal(desk, ref).problems({"sex": "mare", "foaling_due": "2028-05-20"}))
    assert set(late) == {"foaling_due"}


@pytest.fixture
def stocked(desk):
    """A practice under US law with a full vial of pentobarbital and one that has expired."""
    desk.save(PracticeSet(replace(desk.practice(), jurisdiction="US")))
    came = NOW - dt.timedelta(days=300)
    for mark, expiry in (("P1", dt.date(2027, 1, 31)), ("P2", dt.date(2025, 12, 31))):
        desk.pharmacy.write(VialReceived(Vial(
            mark, "pentobarbital", "pentobarbital", 390.0, "mg", 100.0, "B7", expiry, came,
            "Wholesaler",
        )))  # fmt: skip
    return desk


def test_what_was_drawn_for_a_euthanasia_is_booked_with_the_death(stocked):
    ref = case_of(stocked)
    form = DeathForm(stocked, ref)
    died = {"euthanased": "yes", "consented_by": "the owner"}
    assert "vial.0" not in {f.key for p in form.panes({}) for f in p.fields}
    asked = said(form.problems({**died, "drug": "Pentobarbital"}))
    assert "which vial" in asked["vial.0"]
    over = {**died, "vial.0": "P1", "drawn.0": "140"}
    assert "more than the 100 mL" in said(form.problems(over))["drawn.0"]
    assert "drawn.0" in said(form.problems({**died, "vial.0": "P1"}))
    two = {**died, "vial.0": "P1", "drawn.0": "100", "vial.1": "P2", "drawn.1": "40"}
    assert "P2 expired" in said(form.problems(two))["why"]
    two["why"] = "no other bottle, the horse suffers"
    assert not form.problems(two)
    form.save(two)
    (death,) = [e.body for e in stocked.case(ref).entries if isinstance(e.body, Death)]
    assert (death.drug, death.euthanased) == ("pentobarbital", True)
    left = {a.vial.id: a.balance_ml for a in stocked.pharmacy.accounts()}
    assert (left["P1"], left["P2"]) == (0, 60)
    line = stocked.pharmacy.account("P1").lines[-1].entry.body
    assert isinstance(line, VialMove)
    assert (line.case, line.horse) == (ref, stocked.case(ref).opened.horse)


def test_the_register_is_written_into_a_new_file_in_the_format_asked_for(stocked, tmp_path):
    form = RegisterPrint(stocked)
    shown = form.outlook({"from": "2025-01-01"}).lines
    assert any("pentobarbital 390 mg/mL" in line for line in shown)
    for name, begins in (
        ("text", "Controlled drugs, 01 Jan 2025"), ("markdown", "# Controlled drugs"),
        ("html", "<!DOCTYPE html>"), ("csv", "vial,drug"),
    ):  # fmt: skip
        answers = {"from": "2025-01-01", "format": name, "file": str(tmp_path / f"r-{name}")}
        assert not form.problems(answers)
        form.save(answers)
        text = (tmp_path / f"r-{name}").read_text("utf-8")
        assert text.startswith(begins)
        assert "pentobarbital" in text
        assert "is there already" in said(form.problems(answers))["file"]
    assert "to" in said(form.problems({"from": "2026-02-01", "to": "2026-01-01"}))


def test_a_draw_that_could_not_be_booked_stands_first_on_the_screen_after_the_death(
    app, stocked, monkeypatch
):
    form = DeathForm(stocked, case_of(stocked))

    def full(*_):
        raise StoreError("the disk is [full]")

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            app.push_screen(FormScreen(form))
            await keys.settle()
            app.screen.answers.update(
                {"euthanased": "yes", "consented_by": "the owner", "vial.0": "P1", "drawn.0": "100"}
            )
            monkeypatch.setattr(Pharmacy, "write", full)
            await keys.press("ctrl+s")
            return screen_text(app)

    shown = asyncio.run(go())
    told = "! 100 mL from vial P1 not booked in the controlled-drug register: the disk is [full]"
    assert told in " ".join(shown.split())
    assert shown.index("not booked") < shown.index("Plan for")
