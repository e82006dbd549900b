"""Who changes a bandage: the vet over what an owner should not meet, else as was said."""

import pytest
from builders import (
    DAY0,
    a_bandage,
    a_care,
    a_case,
    a_closure,
    a_device,
    a_finding,
    a_horse,
    a_practice,
    a_visit,
)

from fieldnotes.domain.followups import Doer
from fieldnotes.domain.treatment import ClosureMethod, DeviceKind
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.knowledge.rules import load_rules
from fieldnotes.planning.facts import owner_changes
from fieldnotes.planning.followups import plan


def changes_of(case, today=DAY0):
    rules = load_rules()
    tasks = plan(case, a_horse(), load_regions(), rules, a_practice(), today)
    return [t for t in tasks if rules.get(t.rule) and rules.get(t.rule).kind == "bandage change"]


def wounded(bandage=None, exposed=(), **care):
    done = a_care(bandage=bandage or a_bandage(), **care)
    return a_case(a_visit(0, findings=(a_finding(exposed=exposed),), care=(done,)))


# Practice default of this project: nobody wants an owner's first look to be at a drain.
@pytest.mark.parametrize(
    "beneath",
    [
        {"placed": (a_device(DeviceKind.DRAIN),)},
        {"closure": a_closure(ClosureMethod.GRAFT)},
        {"exposed": ("tendon",)},
    ],
    ids=["a drain", "a graft", "an exposed tendon"],
)
def test_without_an_interval_the_next_change_over_these_is_the_vets(beneath):
    case = wounded(**beneath)
    assert not owner_changes(case, "A")
    assert {t.by for t in changes_of(case)} == {Doer.VET}


def test_an_interval_given_over_a_drain_is_the_vets_own_decision():
    case = wounded(a_bandage(change_every_days=1), placed=(a_device(DeviceKind.DRAIN),))
    assert owner_changes(case, "A")
    assert {t.by for t in changes_of(case)} == {Doer.OWNER}


def test_once_the_drain_is_out_the_owner_changes_the_bandage_again():
    placed = wounded(placed=(a_device(DeviceKind.DRAIN),))
    out = a_visit(2, care=(a_care(removed=("drain",)),))
    case = a_case(placed.visits[0].body, out)
    assert owner_changes(case, "A")


def test_a_bandage_that_the_vet_changes_is_a_visit_with_a_window_and_a_reason():
    [change] = changes_of(wounded(a_bandage(changed_by="vet"), closure=a_closure()))
    assert (change.by, change.series) == (Doer.VET, None)
    assert change.earliest <= change.due <= change.latest
    assert change.reason
    assert change.source
