"""Outcomes over all cases: who counts as closed, who as censored, and what small numbers say."""

from __future__ import annotations

import csv
import io
import json
from types import SimpleNamespace

import pytest

from fieldnotes.casework.judging import measured
from fieldnotes.casework.outcomes import By, outcomes, wound_outcome
from fieldnotes.cli.main import main
from fieldnotes.cli.outcomes import _csv
from fieldnotes.domain.cases import fold
from fieldnotes.domain.entries import (
    CaseEnd,
    Death,
    Discharge,
    Referral,
    ReferralState,
    WoundAdded,
)
from fieldnotes.domain.treatment import ClosureMethod
from fieldnotes.domain.wounds import Phase
from fieldnotes.knowledge.library import Library
from fieldnotes.knowledge.rules import load_rules
from fieldnotes.planning.anchors import events
from tests.builders import (
    a_bandage,
    a_care,
    a_case,
    a_closure,
    a_finding,
    a_practice,
    a_visit,
    a_wound,
    an_entry,
    an_opening,
    at,
    day,
    entries,
)

LIBRARY = Library()


def seen(on, **finding):
    return a_visit(on, findings=(a_finding(**finding),))


def only(*bodies):
    case = a_case(*bodies)
    return wound_outcome(case, case.wounds[0], LIBRARY)


def test_a_wound_closes_on_the_day_it_was_first_seen_healed_and_stayed_so():
    found = only(seen(0), seen(20, phase=Phase.HEALED), seen(34, phase=Phase.HEALED))
    assert (found.followed.days, found.followed.closed, found.end) == (20, True, "healed")
    reopened = only(seen(0), seen(20, phase=Phase.HEALED), seen(34), seen(50, phase=Phase.HEALED))
    assert reopened.followed.days == 50


@pytest.mark.parametrize(
    ("last", "days", "end"),
    [
        (Death(day(9), euthanased=True), 9, "died"),
        (Referral(ReferralState.ACCEPTED, day(8)), 8, "referred"),
        (Referral(ReferralState.OFFERED, day(8)), 6, "open"),
        (Discharge(CaseEnd.DISCHARGED, day(12)), 12, "discharged"),
    ],
)
def test_death_referral_and_a_wound_still_open_are_censored_on_their_day(last, days, end):
    found = only(seen(0), seen(6), last)
    assert (found.followed.days, found.followed.closed, found.end) == (days, False, end)


def test_a_horse_back_from_referral_is_followed_on():
    away = Referral(ReferralState.ACCEPTED, day(3))
    back = Referral(ReferralState.RETURNED, day(9))
    assert only(seen(0), away, back, seen(14)).end == "open"
    assert only(seen(0), away, back, seen(14)).followed.days == 14


def test_a_case_ended_as_healed_closes_its_wounds():
    found = only(seen(0), Discharge(CaseEnd.HEALED, day(40)))
    assert (found.followed.days, found.followed.closed) == (40, True)


def test_a_wound_stands_under_its_first_closure_and_the_bandage_it_wore_most():
    first = a_care(closure=a_closure(), bandage=a_bandage(kind="full limb"))
    later = a_care(
        closure=a_closure(method=ClosureMethod.SECOND_INTENTION),
        bandage=a_bandage(kind="distal limb"),
    )
    again = a_care(bandage=a_bandage(kind="distal limb"))
    found = only(*(a_visit(n * 4, care=(c,)) for n, c in enumerate((first, later, again))))
    assert found.closure == "primary closure"
    assert found.bandage == "distal limb"
    assert found.bandages == ("full limb", "distal limb")


def test_complications_count_only_where_they_could_be_seen():
    open_wound = only(a_visit(0, findings=(a_finding(),)))
    assert open_wound.dehisced is None
    assert only().infected is None
    sutured = a_visit(0, findings=(a_finding(),), care=(a_care(closure=a_closure()),))
    assert only(sutured).dehisced is False
    assert only(sutured, seen(5, dehiscence="distal 2 cm")).dehisced is True
    assert only(seen(0), seen(9, granulation_grade=2)).proud_flesh is True


def test_swelling_of_the_first_days_is_no_infection():
    signs = ("swelling", "heat")
    assert only(seen(0, infection_signs=signs)).infected is False
    assert only(seen(0), seen(4, infection_signs=signs)).infected is True
    assert only(seen(0), seen(4, infection_signs=signs[:1])).infected is False


def test_groups_hold_every_wound_once_and_small_ones_say_so():
    cases = [a_case(seen(0), seen(10 + n, phase=Phase.HEALED), ref=f"c{n}") for n in range(12)]
    cases.append(a_case(seen(0), seen(3), ref="d"))
    for by in By:
        found = outcomes(cases, LIBRARY, by)
        assert sum(g.wounds for g in found.groups) == found.total.wounds == 13
    assert found.total.median_days == 15  # 12 at risk from day 10 on, one closes a day
    assert not found.total.few
    assert outcomes(cases[:3], LIBRARY, By.REGION).total.few


def test_the_csv_is_safe_in_a_spreadsheet():
    kind = "=HYPERLINK(1)"
    case = a_case(a_visit(0, care=(a_care(bandage=a_bandage(kind=kind)),)))
    rows = list(csv.reader(io.StringIO(_csv(outcomes([case], LIBRARY, By.BANDAGE)).decode())))
    assert rows[1][0] == "'" + kind
    assert all(len(row) == len(rows[0]) for row in rows)


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("outcomes") / "store"
    main(["--now", "2026-03-02T07:00:00+00:00", "demo", "--no-open", "--dir", str(folder)])
    return folder


@pytest.mark.parametrize("by", [b.value for b in By])
def test_the_command_prints_one_document_that_adds_up(demo, capsysbinary, by):
    capsysbinary.readouterr()
    assert main(["--data", str(demo), "outcomes", "--by", by, "--json"]) == 0
    document = json.loads(capsysbinary.readouterr().out)
    total = SimpleNamespace(**document["all"])
    assert total.wounds == len(document["wounds"]) == sum(g["wounds"] for g in document["groups"])
    assert total.closed + total.censored == total.wounds
    assert all(d["source"] for d in document["definitions"])


def test_days_are_counted_on_the_practices_calendar_though_times_are_kept_otherwise():
    # Hurt at 15:00 on 2 June in Sydney (UTC+10), seen at 08:00 there on the 9th and 16th.
    library = Library(a_practice(zone="Australia/Sydney"))
    visits = (seen(at(6, 22)), seen(at(13, 22), phase=Phase.HEALED))
    case = a_case(*visits, injured_at=at(0, 5))
    assert wound_outcome(case, case.wounds[0], library).followed.days == 14
    assert [m.day for m in measured(case, "A", library.zone)] == [7, 14]


def test_a_wound_added_later_counts_its_own_days():
    again = an_entry(WoundAdded(a_wound("B")), 4, time=at(30, 10))
    later = a_visit(37, findings=(a_finding("B", phase=Phase.HEALED),))
    opened = entries(an_opening(), seen(0), seen(20, phase=Phase.HEALED))
    case = fold("C1", (*opened, again, an_entry(later, 5)))
    assert wound_outcome(case, case.wound("B"), LIBRARY).followed.days == 7
    assert [m.day for m in measured(case, "B", "UTC")] == [7]
    happened = {e.wound: e.on for e in events(case, load_rules(), "UTC") if e.kind == "wounded"}
    assert happened == {"": day(0), "A": day(0), "B": day(30)}
