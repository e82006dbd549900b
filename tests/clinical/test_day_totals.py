"""Local anaesthetic over all wounds of a day, against the ceilings the labels give."""

import datetime as dt

from fieldnotes.clinical.day_totals import day_totals
from fieldnotes.clinical.patient_facts import Treatment
from fieldnotes.knowledge.drugs import load_drugs

DRUGS = {d.id: d for d in load_drugs()}
NINE = dt.datetime(2026, 3, 3, 9, tzinfo=dt.UTC)


def put(amount, drug="lidocaine", hours=0.0):
    at = NINE + dt.timedelta(hours=hours)
    return Treatment(drug, "infiltration", at, at, amount=amount)


# EU label, lidocaine 20 mg/mL: at most 4 mg/kg over all sites; 500 kg: 2000 mg = 100 mL of 2 %.
def test_both_wounds_count_and_the_ceiling_itself_is_not_passed():
    [total] = day_totals([put(1200), put(800, hours=2)], DRUGS, 500)
    assert (total.amount, total.per_kg, total.passed) == (2000, 4.0, ())
    [more] = day_totals([put(1200), put(801)], DRUGS, 500)
    assert [x.value for x in more.passed] == [4]
    assert [x.value for x in more.ceilings] == [4, 8]


def test_another_day_and_another_drug_are_added_apart():
    given = [put(1000), put(1000, hours=24), put(100, drug="mepivacaine"), put(None)]
    found = {(t.drug.id, t.day.day): t.amount for t in day_totals(given, DRUGS, 500)}
    assert found == {("lidocaine", 3): 1000, ("lidocaine", 4): 1000, ("mepivacaine", 3): 100}


def test_a_drug_the_formulary_does_not_hold_has_no_total():
    assert not [*day_totals([put(10, drug="something else")], DRUGS, 500)]
