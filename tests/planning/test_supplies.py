"""The load list: material by girth, drugs by weight, tools once, and what is left with owners."""

from __future__ import annotations

from dataclasses import replace

from builders import (
    DAY0,
    a_bandage,
    a_care,
    a_case,
    a_drug_given,
    a_followup,
    a_horse,
    a_practice,
    a_premises,
    a_visit,
    day,
)

from fieldnotes.domain.driving import StockLine
from fieldnotes.domain.followups import Doer, Series
from fieldnotes.domain.formulary import OwnStrength, PracticeDrug
from fieldnotes.knowledge.bandages import load_bandages
from fieldnotes.knowledge.drugs import load_drugs
from fieldnotes.knowledge.own_drugs import with_practice
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.knowledge.rules import load_rules
from fieldnotes.knowledge.service import load_services
from fieldnotes.planning.stops import Desk, due_stops
from fieldnotes.planning.supplies import CHANGE, Shelf, Treated, load_list, with_stock

SHELF = Shelf(load_rules(), load_services(), load_bandages(), load_regions(), load_drugs())
ROLLS = "cohesive elastic 10 cm x 4.5 m"


def loads(*tasks, bandage=None, horse=None, given=(), drugs=SHELF.drugs):
    """The load list of one case on DAY0, by item."""
    place, horse = a_premises(), horse or a_horse()
    case = a_case(a_visit(care=(a_care(bandage=bandage),), given=given))
    desk = Desk({place.id: place}, a_practice(), SHELF.rules, SHELF.services)
    stops = due_stops([(case, tasks)], desk, DAY0)
    shelf = replace(SHELF, drugs=drugs)
    found = load_list(stops, {case.ref: Treated(case, horse, tasks)}, shelf, DAY0)
    return {x.item: x for x in found}


def task(rule, **changes):
    """A task of the vet's that is due on DAY0."""
    return a_followup(first=0, due=0, last=1, key=rule, rule=rule, wounds=("A",), **changes)


def owners(every, until, due=1):
    """The owner's bandage changes."""
    series = Series(every, day(until))
    return a_followup(
        first=due, due=due, last=due, key="own", by=Doer.OWNER, kind=CHANGE, wounds=("A",),
        series=series,
    )  # fmt: skip


def test_a_wound_that_is_unwrapped_takes_one_new_bandage_whatever_is_done_to_it():
    worn = a_bandage(girth_cm=20.0, height_cm=35.0)
    found = loads(task("recheck-granulating"), task("bandage-change"), bandage=worn)
    # W2 of reference sheet B (D): girth 20, height 35, padding 2.5, two passes: 500 cm, 2 rolls
    assert (found[ROLLS].count, round(found[ROLLS].metres, 2)) == (2, 5.0)
    assert found[ROLLS].said == f"2 rolls {ROLLS}, 5 m"
    assert "girth 20 cm, measured" in found[ROLLS].why[0]
    assert found[ROLLS].stops == ("Low Yard",)
    assert ROLLS not in loads(task("recheck-granulating"))


def test_what_comes_off_is_wrapped_as_the_region_usually_is():
    found = loads(task("cast-off"))
    assert found["cast saw"].said == "1 cast saw"
    assert "usual 20-24 cm" in found[ROLLS].why[0]


def test_the_owner_is_left_material_until_the_vet_comes_again():
    worn = a_bandage(girth_cm=20.0, height_cm=35.0, change_every_days=2)
    today, next_time = task("recheck-granulating"), a_followup(first=7, due=7, last=9, key="next")
    found = loads(today, next_time, owners(2, 20), bandage=worn)
    # days 1, 3, 5 and 7: four changes of two rolls, beside the two of today
    assert (found[ROLLS].count, found[ROLLS].leave) == (10, 8)
    assert "4 change(s) by the owner" in found[ROLLS].why[1]
    alone = loads(today, owners(2, 20), bandage=worn)
    assert alone[ROLLS].leave == 20


def test_a_planned_injection_is_reckoned_from_the_weight():
    # T8 of reference sheet A (S10): 6.6 mg/kg, 500 kg, 200 mg/mL are 3,300 mg in 16.5 mL
    given = (a_drug_given("ceftiofur-crystalline-free-acid", route="IM", per_kg=6.6),)
    found = loads(task("long-acting-ceftiofur"), given=given)
    line = found["ceftiofur crystalline free acid 200 mg/mL"]
    assert (line.count, line.unit) == (16.5, "mL")
    assert line.why == ("Bramble: 6.6 mg/kg x 500 kg, 3,300 mg",)
    assert found["syringe and needle"].count == 1


def test_bottles_are_counted_by_the_size_the_practice_stocks():
    # 21 CFR 522.315: 200 mg/mL; 16.5 mL of bottles of 10 mL are two
    id_ = "ceftiofur-crystalline-free-acid"
    own = OwnStrength(200.0, "mL", "suspension", ("IM",), "label", "Ada", DAY0, 10.0)
    stocked = with_practice(load_drugs(), {id_: PracticeDrug(id_, strengths=(own,))})
    found = loads(task("long-acting-ceftiofur"), drugs=stocked)
    assert "2 of 10 mL" in found["ceftiofur crystalline free acid 200 mg/mL"].why[0]


def test_without_a_weight_the_dose_is_listed_and_its_volume_withheld():
    found = loads(task("long-acting-ceftiofur"), horse=a_horse(weight_kg=None))
    line = found["ceftiofur crystalline free acid"]
    assert (line.count, line.unit) == (1, "dose")
    assert "no weight" in line.why[0]


def test_an_unvaccinated_horse_takes_toxoid_and_1500_units_of_antitoxin():
    # Canadian label: 1,500 IU in 5 mL
    found = loads(task("tetanus-course"), horse=a_horse(weight_kg=None))
    assert found["tetanus toxoid"].said == "1 dose tetanus toxoid"
    assert found["tetanus antitoxin 300 IU/mL"].said == "5 mL of tetanus antitoxin 300 IU/mL"


def test_what_is_short_stands_first():
    worn = a_bandage(girth_cm=20.0, height_cm=35.0)
    found = loads(task("recheck-granulating"), bandage=worn)
    first, *_ = with_stock(found.values(), {"x": StockLine("x", ROLLS, 1, "roll")})
    assert (first.item, first.short) == (ROLLS, 1)
