"""A case's present state depends on its entries alone, never on the order they are read in."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldnotes.domain.cases import Status, fold
from fieldnotes.domain.entries import (
    Amendment,
    CaseEnd,
    Death,
    Discharge,
    Hold,
    Note,
    Outcome,
    Referral,
    ReferralState,
    Transfer,
    WoundAdded,
)
from fieldnotes.domain.errors import StoreError
from tests.builders import (
    a_case,
    a_finding,
    a_report,
    a_task,
    a_visit,
    a_wound,
    an_entry,
    an_opening,
    an_outcome,
    day,
    entries,
)

BODIES = (
    WoundAdded(a_wound("B", "right.hind.tarsus.dorsal")),
    a_visit(0, lameness=2, findings=(a_finding(),)),
    a_visit(4, lameness=1),
    a_report(2),
    a_task(),
    an_outcome("recheck:A:d1-2", Outcome.DONE, 4),
    Note("quiet"),
    Hold(on_hold=True, on=day(3)),
    Hold(on_hold=False, on=day(5)),
    Referral(ReferralState.OFFERED, day(3)),
    Referral(ReferralState.DECLINED, day(4)),
    Transfer("vet2", "01632 960009"),
    Transfer("vet3"),
    Amendment("d1-3", "lameness 3", "misread", a_visit(0, lameness=3)),
    Discharge(CaseEnd.HEALED, day(30)),
)
SHUFFLED = st.lists(st.sampled_from(BODIES), max_size=12).flatmap(
    lambda bodies: st.permutations(entries(an_opening(), *bodies))
)


@settings(max_examples=150, deadline=None)
@given(SHUFFLED)
def test_the_fold_is_the_same_whatever_order_the_entries_are_given_in(shuffled):
    in_order = sorted(shuffled, key=lambda e: e.order)
    assert fold("C1", shuffled) == fold("C1", in_order)


@given(st.permutations(range(6)))
def test_two_laptops_entries_of_one_clock_fold_the_same_way_round(order):
    opening = an_entry(an_opening(), 1)
    told = [
        an_entry(Transfer(f"vet{n}"), n, device=device, clock=2 + n // 2)
        for n, device in enumerate(("da", "db", "da", "db", "da", "db"))
    ]
    case = fold("C1", [*(told[n] for n in order), opening])
    assert case.responsible == "vet5"


def test_entries_that_open_no_case_are_refused():
    with pytest.raises(StoreError, match="no opening entry"):
        fold("C1", entries(Note("lost")))


def test_a_corrected_visit_reads_as_corrected_and_the_first_text_stays_readable():
    first, corrected = a_visit(0, lameness=1), a_visit(0, lameness=3)
    case = a_case(first, Amendment("d1-2", "lameness 3", "misread", corrected))
    assert case.visits[0].body == corrected
    assert case.visits[0].amended_by == "d1-3"
    assert case.entries[1].body == first


def test_the_last_of_two_corrections_counts_and_both_are_kept():
    case = a_case(
        a_visit(0, lameness=1),
        Amendment("d1-2", "3", "misread", a_visit(0, lameness=3)),
        Amendment("d1-2", "2", "misread again", a_visit(0, lameness=2)),
    )
    assert case.visits[0].body.lameness == 2
    assert [a.body.what for a in case.amendments] == ["3", "2"]


def test_a_correction_in_words_leaves_the_visit_as_it_was():
    case = a_case(a_visit(0, lameness=1), Amendment("d1-2", "wrong limb", "slip"))
    assert case.visits[0].body.lameness == 1


def test_visits_stand_by_the_time_they_took_place_not_by_the_time_of_recording():
    case = a_case(a_visit(4), a_visit(0))
    assert [v.body.at.date() for v in case.visits] == [day(0), day(4)]


@pytest.mark.parametrize(
    ("body", "status", "ended"),
    [
        (Note("still here"), Status.OPEN, None),
        (Discharge(CaseEnd.HEALED, day(30)), Status.HEALED, day(30)),
        (Discharge(CaseEnd.DISCHARGED, day(9)), Status.DISCHARGED, day(9)),
        (Discharge(CaseEnd.CLOSED, day(9)), Status.CLOSED, day(9)),
        (Death(day(2), euthanased=True), Status.DIED, day(2)),
    ],
)
def test_a_case_ends_as_its_last_word_says(body, status, ended):
    case = a_case(a_visit(0), body)
    assert (case.status, case.ended_on) == (status, ended)


def test_hold_referral_and_transfer_are_followed():
    case = a_case(
        Hold(on_hold=True, on=day(1)),
        Referral(ReferralState.ACCEPTED, day(1)),
        Transfer("vet2"),
        on_call="01632 960001",
    )
    assert (case.on_hold, case.referred) == (True, ReferralState.ACCEPTED)
    assert (case.responsible, case.on_call) == ("vet2", "01632 960001")


def test_each_wound_keeps_its_own_findings():
    both = a_visit(0, findings=(a_finding("A"), a_finding("B", length_mm=20.0)))
    later = a_visit(3, findings=(a_finding("B", length_mm=15.0),))
    case = a_case(both, later, wounds=(a_wound("A"), a_wound("B")))
    assert [f.length_mm for _, f in case.findings("A")] == [80.0]
    assert [f.length_mm for _, f in case.findings("B")] == [20.0, 15.0]
    assert case.wound("C") is None
