"""Days with more stops than can be chosen from with proof: the better of two plans, and honest."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from pathlib import Path

import pytest

from fieldnotes.planning.day import Sequence
from fieldnotes.planning.day_library import checked, library_plan
from fieldnotes.planning.day_solver import plan_day, plan_long_day
from fieldnotes.planning.tables import day_table
from tests.benchmarks.day_solver import free_day

RURAL = json.loads((Path(__file__).parent / "data" / "rural-days.json").read_text())


def crowded(seed, stops):
    rng = random.Random(seed)  # noqa: S311  (a repeatable draw, not a secret)
    day = free_day(rng, stops)
    return replace(day, skip=(None, *(rng.choice((1000.0, 3000.0)) for _ in range(stops))))


@pytest.mark.parametrize("case", RURAL, ids=lambda case: case["name"])
def test_the_library_never_beats_a_proven_day(case):
    problem = day_table(case["table"])
    theirs = library_plan(problem)
    assert theirs is not None
    assert theirs.cost >= case["optimum"]
    assert not theirs.optimal


def test_of_many_stops_the_better_of_two_plans_is_taken_and_not_called_proven():
    day = crowded(1, 25)
    plan, theirs = plan_long_day(day), library_plan(day)
    assert plan.cost <= min(theirs.cost, plan_day(day, 100).cost)
    assert not plan.optimal
    assert set(plan.sequence.order) | set(plan.skipped) == set(range(1, 26))
    assert plan == plan_long_day(day)


def test_an_order_that_breaks_a_rule_is_no_plan():
    day = crowded(1, 4)
    assert checked(day, Sequence((1, 2, 3, 4))) is not None
    assert checked(replace(day, last=(1,)), Sequence((1, 2, 3, 4))) is None
    assert checked(replace(day, day_end=10.0), Sequence((1, 2, 3, 4))) is None
    assert checked(replace(day, skip=()), Sequence((1, 2))) is None
