"""What is recorded of an animal and a practice decides what its drugs are held to."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from builders import (
    a_drug_dispensed,
    a_drug_given,
    a_horse,
    a_person,
    a_practice,
    a_premises,
    a_visit,
    an_opening,
    an_owner,
    at,
    day,
)

from fieldnotes.casework.desk import Casework
from fieldnotes.domain.entries import (
    HorseSet,
    OwnerReport,
    OwnerSet,
    PersonSet,
    PracticeSet,
    PremisesSet,
)
from fieldnotes.domain.patients import FoodChain, Sex, Species
from fieldnotes.domain.urgency import Urgency
from fieldnotes.knowledge.drugs import find_drugs, load_drugs
from fieldnotes.storage.casebook import Casebook, create_store

BUTE = a_drug_given("phenylbutazone", amount=2200.0, reason="nothing else is at hand")


class Yard:
    """A store with one horse, and the desk over it."""

    def __init__(self, folder) -> None:
        create_store(folder)
        self.now = at(0, 20)
        self.desk = Casework(Casebook(folder), lambda: self.now)
        for body in (PersonSet(a_person()), OwnerSet(an_owner()), PremisesSet(a_premises())):
            self.desk.save(body)
        self.holds()

    def holds(self, law="", **horse):
        """Put the horse and the practice's law in the register."""
        self.desk.save(PracticeSet(a_practice(jurisdiction=law)))
        self.desk.save(HorseSet(a_horse(**horse)))
        return self

    def refused(self, *given):
        found = self.desk.check_opening(an_opening(), a_visit(given=given))
        return " ".join(p.message for p in found)

    def told(self, *given):
        return self.desk.cautions(an_opening(), a_visit(given=given))

    def opened(self, **visit):
        return self.desk.open_case(an_opening(), a_visit(**visit)).ref


@pytest.fixture
def yard(tmp_path):
    return Yard(tmp_path / "store")


@pytest.mark.parametrize(
    ("law", "word", "source"),
    [
        # 21 CFR 530.41 and 520.1720; BEVA guidance on medicines and passports
        ("US", "not for horses meant for food", "21 CFR 530.41"),
        ("UK", "passport must say", "BEVA guidance"),
        ("Ireland", "passport must say", "BEVA guidance"),
        ("", "local law rules", "21 CFR 530.41"),
    ],
)
def test_the_food_chain_block_speaks_the_practices_law_and_no_reason_passes_it(
    yard, law, word, source
):
    yard.holds(law, food_chain=FoodChain.INTENDED)
    said = yard.refused(BUTE)
    assert word in said
    assert "record a lasting food-chain change" in said
    assert any(source in c.source for c in yard.told(BUTE) if "food chain" in c.why)
    assert not yard.holds(law, food_chain=FoodChain.EXCLUDED).refused(BUTE)


def test_a_rule_that_a_country_has_milder_is_milder_there_only(yard):
    # UK SPC, meloxicam, 2021: not in pregnancy; Australian label: caution
    mare = {"sex": Sex.MARE, "foaling_due": day(60)}
    meloxicam = a_drug_given("meloxicam", amount=300.0)
    assert "pregnant" in yard.holds("UK", **mare).refused(meloxicam)
    assert not yard.holds("Australia", **mare).refused(meloxicam)
    assert any(c.level == "warn" and "pregnant" in c.why for c in yard.told(meloxicam))
    assert not yard.holds("UK", sex=Sex.MARE).refused(meloxicam)


def test_a_competing_horses_dates_begin_with_those_of_its_own_body(yard):
    # FEI report, 2011: meloxicam 72 h
    meloxicam = a_drug_given("meloxicam", amount=300.0, at=at(0, 10))
    yard.holds(competes=True, governing_body="FEI")
    notes = [c.why for c in yard.told(meloxicam) if "not before" in c.why]
    assert "2025-06-05 10:00" in notes[0]
    assert "(FEI)" in notes[0]
    ref = yard.opened(given=(meloxicam, a_drug_given("lidocaine", route="SC", amount=200.0)))
    times = yard.desk.clearances(ref)
    assert [t.own for t in times] == sorted((t.own for t in times), reverse=True)
    assert times[0].own
    yard.holds(competes=False)
    assert not [c for c in yard.told(meloxicam) if "not before" in c.why]


@pytest.mark.parametrize("said", ["allergic to penicillin", "Procaine penicillin", "beta lactam"])
def test_an_allergy_is_met_however_it_was_written(yard, said):
    shot = a_drug_given("procaine-penicillin", route="IM", amount=11e6, unit="IU")
    yard.holds(allergies=(said,))
    assert "allergy" in yard.refused(shot)
    assert "allergy" not in yard.refused(a_drug_given("flunixin"))


@pytest.mark.parametrize("given_by", ["vet", "owner", "other"])
def test_an_anti_inflammatory_by_anyone_takes_the_comfort_out_of_normal_signs(yard, given_by):
    # UK data sheets, phenylbutazone: effect may last 3 days or more
    yard.holds(food_chain=FoodChain.EXCLUDED)
    ref = yard.opened(given=(replace(BUTE, given_by=given_by),))
    report = OwnerReport(at(2, 8), "phone", "a bit warm", ("heat",), temperature_c=37.8)
    found = yard.desk.triage(ref, report, gait_normal=True)
    assert found.masked
    assert found.urgency is Urgency.SAME_DAY
    later = replace(report, at=at(5, 8))
    assert yard.desk.triage(ref, later, gait_normal=True).urgency is Urgency.NEXT_VISIT


def test_a_mule_without_a_weight_is_written_up_and_no_volume_is_made_up(yard):
    yard.holds(species=Species.MULE, weight_kg=None)
    ref = yard.opened(given=(a_drug_given("flunixin", amount=400.0, volume_ml=8.0),))
    assert yard.desk.case(ref).visits[0].body.given[0].volume_ml == 8.0


def test_local_anaesthetic_adds_up_over_the_wounds_of_another_case_on_the_day(yard):
    # EU label, lidocaine 20 mg/mL: 4 mg/kg in all; 1200 + 1200 mg in 500 kg are 4.8
    block = a_drug_given("lidocaine", route="infiltration", amount=1200.0, volume_ml=60.0,
                         reason="two large wounds")  # fmt: skip
    assert not [c for c in yard.told(block) if "over the total" in c.why]
    yard.opened(given=(block,))
    over = [c.why for c in yard.told(replace(block, at=at(0, 15))) if "over the total" in c.why]
    assert "4.80 mg/kg" in over[0]
    yard.now = at(1, 20)
    next_day = a_visit(at(1, 9), given=(replace(block, at=at(1, 9)),))
    found = yard.desk.cautions(an_opening(), next_day)
    assert not [c for c in found if "over the total" in c.why]


def test_the_days_of_a_course_add_up_over_the_cases_of_the_animal(yard):
    # 21 CFR 522.970, flunixin: not over 5 days
    course = a_drug_dispensed("flunixin", amount=550.0, unit="mg", interval_h=24, days=3.0)
    yard.opened(dispensed=(course,))
    yard.now = at(4, 20)
    more = replace(course, starts=at(3, 9))
    found = yard.desk.cautions(an_opening(), a_visit(at(3, 9), dispensed=(more,)))
    assert any("6 days, over 5" in c.why for c in found)


@pytest.mark.parametrize(
    ("part", "drug"),
    [("nixin", "flunixin"), ("butaz", "phenylbutazone"), ("THOPRIM", "trimethoprim-sulfonamide"),
     ("free acid", "ceftiofur-crystalline-free-acid"), ("lignoc", "lidocaine")],
)  # fmt: skip
def test_a_drug_is_found_by_any_part_of_its_name(part, drug):
    assert drug in {d.id for d in find_drugs(load_drugs(), part)}


def test_a_dose_drawn_from_an_expired_bottle_waits_for_a_reason(yard):
    old = a_drug_given("flunixin", expiry=dt.date(2025, 1, 31))
    assert "expired on 31 Jan 2025" in yard.refused(old)
    assert not yard.refused(replace(old, reason="no other bottle, storage was right"))
