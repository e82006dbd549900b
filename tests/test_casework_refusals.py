"""What cannot be right is refused at its field, all of it at once, and nothing is written."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.domain.agreements import Estimate
from fieldnotes.domain.entries import (
    Amendment,
    CaseEnd,
    Death,
    Discharge,
    HorseSet,
    Note,
    Outcome,
    OwnerReport,
    OwnerSet,
    PracticeSet,
    PremisesSet,
    Vitals,
    WoundAdded,
)
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.domain.patients import Position
from fieldnotes.tui.forms.first_visit import FirstVisit
from tests.builders import (
    a_care,
    a_drug_dispensed,
    a_drug_given,
    a_finding,
    a_horse,
    a_practice,
    a_premises,
    a_task,
    a_visit,
    a_wound,
    an_opening,
    an_outcome,
    an_owner,
    at,
    day,
)
from tests.desks import Clock, first_visit, known
from tests.fakes import RecordsInMemory


@pytest.fixture
def clock():
    return Clock(at(0, 12))


@pytest.fixture
def records():
    return RecordsInMemory()


@pytest.fixture
def desk(records, clock):
    return known(Casework(records, clock))


@pytest.fixture
def ref(desk):
    return desk.open_case(an_opening(), first_visit()).ref


# ----- what is refused, and at which field

OPENINGS = {
    "unknown horse": (an_opening(horse="nobody"), "horse"),
    "unknown premises": (an_opening(premises="nowhere"), "premises"),
    "future injury": (an_opening(injured_at=at(1)), "injured_at"),
    "no wound": (replace(an_opening(), wounds=()), "wounds"),
    "one letter twice": (an_opening((a_wound(), a_wound())), "wounds.A.label"),
    "unknown region": (an_opening((a_wound(region="left.wing"),)), "wounds.A.region"),
}


@pytest.mark.parametrize("slip", OPENINGS)
def test_a_case_that_cannot_be_is_refused_at_its_field_and_nothing_is_written(desk, records, slip):
    opened, field = OPENINGS[slip]
    before = list(records.entries)
    with pytest.raises(RefusedInputError) as refused:
        desk.open_case(opened)
    assert refused.value.field == field
    assert refused.value.reason
    assert records.entries == before


VISITS = {
    "a wound of 4 m": ({"findings": (a_finding(length_mm=4000.0),)}, "findings.A.length_mm"),
    "a wound of no length": ({"findings": (a_finding(length_mm=-8.0),)}, "findings.A.width_mm"),
    "width over length": ({"findings": (a_finding(width_mm=90.0),)}, "findings.A.width_mm"),
    "length alone": ({"findings": (a_finding(width_mm=None),)}, "findings.A.width_mm"),
    "depth below nothing": ({"findings": (a_finding(depth_mm=-1.0),)}, "findings.A.depth_mm"),
    "a round that is no number": (
        {"findings": (a_finding(perimeter_cm=float("nan")),)},
        "findings.A.perimeter_cm",
    ),
    "granulation grade 7": (
        {"findings": (a_finding(granulation_grade=7),)},
        "findings.A.granulation_grade",
    ),
    "unknown wound seen": ({"findings": (a_finding("Q"),)}, "findings.Q"),
    "unknown wound cared for": ({"care": (a_care("Q"),)}, "care.Q"),
    "one wound twice": ({"findings": (a_finding(), a_finding())}, "findings.A"),
    "fever in Fahrenheit": ({"vitals": Vitals(temperature_c=102.0)}, "vitals.temperature_c"),
    "no heart beat": ({"vitals": Vitals(heart_per_min=0)}, "vitals.heart_per_min"),
    "lameness 6": ({"lameness": 6}, "lameness"),
    "a drug without name": ({"given": (a_drug_given(name=" "),)}, "given.0.name"),
    "a drug without route": ({"given": (a_drug_given(route=""),)}, "given.0.route"),
    "less than no drug": ({"given": (a_drug_given(amount=-5.0),)}, "given.0.amount"),
    "no drug": ({"dispensed": (a_drug_dispensed(amount=0.0),)}, "dispensed.0.amount"),
    "less than nothing wasted": ({"given": (a_drug_given(wasted=-1.0),)}, "given.0.wasted"),
    "less than no volume": ({"given": (a_drug_given(volume_ml=-2.0),)}, "given.0.volume_ml"),
    "expired without a reason": (
        {"given": (a_drug_given(expiry=day(-1)),)},
        "given.0.expiry",
    ),
    "expired and dispensed": (
        {"dispensed": (a_drug_dispensed(expiry=day(-1)),)},
        "dispensed.0.expiry",
    ),
    "a course of a year": ({"dispensed": (a_drug_dispensed(days=365.0),)}, "dispensed.0.days"),
}


@pytest.mark.parametrize("slip", VISITS)
def test_a_visit_that_cannot_be_is_refused_at_its_field_and_nothing_is_written(desk, records, slip):
    changes, field = VISITS[slip]
    before = list(records.entries)
    with pytest.raises(RefusedInputError) as refused:
        desk.open_case(an_opening(), first_visit(**changes))
    assert refused.value.field == field
    assert records.entries == before


@pytest.mark.parametrize("slip", VISITS)
def test_a_correction_cannot_bring_in_what_a_visit_may_not_hold(desk, records, ref, slip):
    changes, field = VISITS[slip]
    visit = next(e for e in desk.case(ref).entries if e.kind == "visit")
    before = list(records.entries)
    with pytest.raises(RefusedInputError) as refused:
        desk.amend(ref, visit.id, "sizes", "misread", first_visit(**changes))
    assert refused.value.field == f"corrected.{field}"
    assert records.entries == before


def test_a_visit_before_the_injury_or_after_now_is_refused(desk, ref):
    for when in (at(0, 6), at(1, 9)):
        with pytest.raises(RefusedInputError) as refused:
            desk.record(ref, a_visit(when))
        assert refused.value.field == "at"


def test_an_expired_drug_with_a_reason_is_recorded(desk, ref):
    used = a_drug_given(expiry=day(-1), reason="none other at hand, owner told")
    assert desk.record(ref, a_visit(0, given=(used,))).entries


LATER = {
    "recheck moved into the past": (
        an_outcome("recheck", Outcome.MOVED, moved_to=day(-1)),
        "moved_to",
    ),
    "moved to no day": (an_outcome("recheck", Outcome.MOVED), "moved_to"),
    "appointment in the past": (
        an_outcome("recheck", Outcome.MOVED, appointment=at(-1)),
        "appointment",
    ),
    "done tomorrow": (an_outcome("recheck", Outcome.DONE, 1), "on"),
    "empty note": (Note(" \n\t"), "text"),
    "a note of nothing visible": (Note("\u200b\x00"), "text"),
    "empty report": (OwnerReport(at(0), "phone", "  "), "text"),
    "report from the future": (OwnerReport(at(2), "phone", "well"), "at"),
    "task that is nothing": (a_task(" "), "what"),
    "task ends before it begins": (a_task("look", 3, 2, 1), "due"),
    "task in the past": (a_task("look", -3, -2, -1), "latest"),
    "discharged before the injury": (Discharge(CaseEnd.HEALED, day(-1)), "on"),
    "discharged tomorrow": (Discharge(CaseEnd.HEALED, day(1)), "on"),
    "wound A again": (WoundAdded(a_wound("A")), "wound.label"),
    "wound nowhere": (WoundAdded(a_wound("B", "left.wing")), "wound.region"),
    "estimate below nothing": (Estimate(day(0), -1.0, 100.0, "GBP"), "amount"),
    "limit below nothing": (Estimate(day(0), 1.0, -100.0, "GBP"), "limit"),
}


@pytest.mark.parametrize("slip", LATER)
def test_an_entry_that_cannot_be_is_refused_at_its_field(desk, records, ref, slip):
    body, field = LATER[slip]
    before = list(records.entries)
    with pytest.raises(RefusedInputError) as refused:
        desk.record(ref, body)
    assert refused.value.field == field
    assert records.entries == before


REGISTERED = {
    "bad email": (OwnerSet(an_owner(email="olive at example.org")), "email"),
    "two addresses in one": (OwnerSet(an_owner(email="a@example.org, b@example.org")), "email"),
    "practice's bad email": (PracticeSet(a_practice(email="vets@nowhere")), "email"),
    "unknown time zone": (PracticeSet(a_practice(zone="Mars/Base")), "zone"),
    "half a time zone": (PracticeSet(a_practice(zone="Europe")), "zone"),
    "no time zone": (PracticeSet(a_practice(zone="")), "zone"),
    "day ends first": (PracticeSet(a_practice(day_end=dt.time(6))), "day_end"),
    "latitude 95": (PremisesSet(a_premises(position=Position(95.0, 0.0))), "lat"),
    "longitude 200": (PremisesSet(a_premises(position=Position(0.0, 200.0))), "lon"),
    "unborn horse": (HorseSet(a_horse(born=day(1))), "born"),
    "horse nowhere": (HorseSet(a_horse(premises="nowhere")), "premises"),
    "horse of 5 t": (HorseSet(a_horse(weight_kg=5000.0)), "kg"),
}


@pytest.mark.parametrize("slip", REGISTERED)
def test_a_record_that_cannot_be_is_refused_at_its_field(desk, records, slip):
    body, field = REGISTERED[slip]
    before = list(records.entries)
    with pytest.raises(RefusedInputError) as refused:
        desk.save(body)
    assert refused.value.field.rpartition(".")[2] == field
    assert records.entries == before


def test_all_that_is_wrong_is_listed_at_once(desk):
    opened = an_opening((a_wound(region="left.wing"),), injured_at=at(1), horse="nobody")
    found = a_finding(length_mm=4000.0, granulation_grade=7)
    visit = first_visit(findings=(found,), vitals=Vitals(temperature_c=102.0))
    fields = {p.field for p in desk.check_opening(opened, visit)}
    assert fields >= {
        "horse",
        "injured_at",
        "wounds.A.region",
        "at",
        "findings.A.length_mm",
        "findings.A.granulation_grade",
        "vitals.temperature_c",
    }


def test_a_sound_case_has_no_problem(desk):
    assert desk.check_opening(an_opening(), first_visit()) == ()


def test_a_dead_horse_is_marked_where_it_is_chosen_and_gets_no_case_until_that_is_corrected(
    desk, ref
):
    desk.record(ref, Death(day(0), euthanased=False))
    form = FirstVisit(desk)
    field = form.first_pane({}).fields[0]
    (found,) = field.find("bramble")
    assert found.note.startswith("died 2 Jun")
    assert field.echo(found.id).startswith("died 2 Jun")
    with pytest.raises(RefusedInputError, match=f"Bramble died on 2 Jun 2025 .case {ref}.") as said:
        desk.open_case(an_opening(), first_visit())
    assert said.value.field == "horse"
    desk.record(ref, Discharge(CaseEnd.HEALED, day(0)))
    assert desk.check_opening(an_opening(), first_visit()) == ()


def test_a_death_ends_the_tasks_of_the_horses_other_cases_too(desk, ref):
    other = desk.open_case(an_opening(), first_visit()).ref
    assert {line.task.case for line in desk.due(days=30)} == {ref, other}
    desk.record(ref, Death(day(0), euthanased=False))
    assert desk.due(days=30) == ()
    assert (desk.file(other).plan, desk.file(other).died_in) == ((), ref)


def test_an_amendment_names_an_entry_of_its_case_and_says_why(desk, ref):
    with pytest.raises(UnknownNameError):
        desk.amend(ref, "d9-9", "what", "why")
    with pytest.raises(RefusedInputError) as refused:
        desk.amend(ref, desk.case(ref).entries[1].id, "what", "  ")
    assert refused.value.field == "why"


def test_only_records_of_the_register_go_into_the_register(desk):
    with pytest.raises(RefusedInputError):
        desk.save(Amendment("d1-1", "x", "y"))
    with pytest.raises(RefusedInputError):
        desk.save(Note("x"))
