"""The day solver against published optima and against trying everything."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest

from fieldnotes.planning.day import DayProblem, Sequence
from fieldnotes.planning.day_bounds import day_bounds
from fieldnotes.planning.day_labels import DaySearch
from fieldnotes.planning.day_solver import plan_day
from fieldnotes.planning.day_subsets import no_window_binds
from fieldnotes.planning.day_times import timetable
from fieldnotes.planning.day_walks import DayWalks
from fieldnotes.planning.day_why import conflict
from fieldnotes.planning.tables import day_table

from .brute_force import best_cost

DATA = Path(__file__).parent / "data"
# The common collection of M. Lopez-Ibanez and C. Blum, "Benchmark Instances for the Travelling
# Salesman Problem with Time Windows"; the set each file is from stands in public-days.json.
PUBLIC = json.loads((DATA / "public-days.json").read_text())
RURAL = json.loads((DATA / "rural-days.json").read_text())
QUICK = [case for case in PUBLIC if case["quick"]]


@pytest.mark.parametrize("minimise", ["travel", "finish"])
@pytest.mark.parametrize("case", QUICK, ids=lambda case: case["file"])
def test_a_published_instance_is_solved_to_its_proven_optimum(case, minimise):
    plan = plan_day(day_table(case["table"] | {"minimise": minimise}))
    assert plan.optimal
    got = plan.travel if minimise == "travel" else plan.finish
    assert got == pytest.approx(case[f"{minimise}_optimum"], abs=1e-3)


@pytest.mark.long
@pytest.mark.parametrize("minimise", ["travel", "finish"])
@pytest.mark.parametrize(
    "case", [c for c in PUBLIC if not c["quick"]], ids=lambda case: case["file"]
)
def test_a_large_published_instance_is_solved_to_its_proven_optimum(case, minimise):
    test_a_published_instance_is_solved_to_its_proven_optimum(case, minimise)


@pytest.mark.parametrize("case", RURAL, ids=lambda case: case["name"])
def test_a_rural_day_is_solved_to_its_proven_optimum(case):
    plan = plan_day(day_table(case["table"]))
    assert (plan.optimal, plan.travel + plan.penalties) == (True, case["optimum"])
    if case["optimum_with_break"] is not None:
        plan = plan_day(day_table(case["table"] | {"break": case["break"]}))
        assert (plan.optimal, plan.travel + plan.penalties) == (True, case["optimum_with_break"])


def random_table(rng, most=5):
    n = rng.randint(0, most) + 1
    spots = [(rng.uniform(0, 60), rng.uniform(0, 60)) for _ in range(n)]
    travel = [
        [0 if a is b else round(2 + abs(a[0] - b[0]) + abs(a[1] - b[1]) * 0.8) for b in spots]
        for a in spots
    ]
    windows = [[0, 630]]
    for _ in range(1, n):
        opens = rng.choice([0, rng.randint(0, 400)])
        windows.append([opens, 630 if rng.random() < 0.5 else opens + rng.randint(30, 180)])
    table = {
        "travel": travel,
        "service": [0, *(rng.randint(20, 60) for _ in range(1, n))],
        "windows": windows,
        "minimise": rng.choice(["travel", "travel", "finish"]),
        "day_end": rng.randint(200, 630),
        "skip": [None, *(rng.choice([None, 30, 80, 400]) for _ in range(1, n))],
        "last": [j for j in range(1, n) if rng.random() < 0.2],
    }
    if rng.random() < 0.5:
        table["break"] = {"earliest": rng.randint(60, 240), "latest": 390, "minutes": 30}
    if n > 1 and rng.random() < 0.3:
        table["locks"] = {rng.choice(["first", "final"]): rng.randint(1, n - 1)}
    return table


def agrees(table):
    plan = plan_day(day_table(table))
    expected = best_cost(table)
    if expected is None:
        assert plan is None, table
        assert set(conflict(day_table(table)).stops) < set(range(1, 9)), table
        return
    assert plan is not None, table
    assert plan.optimal
    assert plan.cost == pytest.approx(expected), table


def test_trying_everything_finds_nothing_better():
    rng = random.Random(6)  # noqa: S311  (a repeatable draw, not a secret)
    for _ in range(250):
        agrees(random_table(rng))


@pytest.mark.long
def test_trying_everything_finds_nothing_better_in_a_thousand_days_of_up_to_seven_stops():
    rng = random.Random(7)  # noqa: S311  (a repeatable draw, not a secret)
    for _ in range(1000):
        agrees(random_table(rng, most=7))


def test_the_priced_walks_never_cost_more_than_the_best_plan_and_lose_none():
    rng = random.Random(8)  # noqa: S311  (a repeatable draw, not a secret)
    sharpened = 0
    for _ in range(150):
        table = random_table(rng)
        problem, expected = day_table(table), best_cost(table)
        bounds = day_bounds(problem)
        walks = DayWalks(problem, bounds, 60)
        if expected is None or not walks.usable:
            continue
        walks.sharpen([20.0] * problem.size, expected * 1.05 + 1)
        assert walks.bound <= expected + 1e-6, table
        search = DaySearch(problem, bounds, expected * 1.05 + 1, walks)
        search.run(10_000)
        assert search.best_cost == pytest.approx(expected), table
        sharpened += 1
    assert sharpened > 50


def test_a_day_without_binding_windows_is_planned_by_sets_as_by_labels():
    rng = random.Random(9)  # noqa: S311  (a repeatable draw, not a secret)
    by_sets = 0
    for _ in range(200):
        table = random_table(rng)
        table["windows"] = [[0, 2000]] * len(table["travel"])
        table.pop("break", None)
        problem = day_table(table)
        agrees(table)
        by_sets += no_window_binds(problem, day_bounds(problem))
    assert by_sets > 150


def test_twelve_stops_without_windows_are_proven():
    rng = random.Random(1)  # noqa: S311  (a repeatable draw, not a secret)
    spots = [(rng.uniform(0, 60), rng.uniform(0, 60)) for _ in range(13)]
    travel = tuple(tuple(abs(a[0] - b[0]) + abs(a[1] - b[1]) for b in spots) for a in spots)
    free = DayProblem(travel, (0,) + (20,) * 12, (((0, 3000),),) * 13)
    plan = plan_day(free)
    assert plan.optimal
    hours = (
        ((0, 3000),),
        ((0, 3000), (3001, 3002)),
        *(((0, 3000),),) * 11,
    )  # forbids the short cut
    assert plan.travel == pytest.approx(plan_day(DayProblem(travel, free.service, hours)).travel)


def hand_day(**more):
    # Times in minutes from 07:30: A opens 08:00-09:00.
    travel = ((0, 20, 15), (20, 0, 25), (15, 25, 0))
    windows = (((0, 630),), ((30, 90),), ((0, 630),))
    return DayProblem(travel, (0, 30, 20), windows, **more)


def test_waiting_happens_at_the_base_not_at_a_gate():
    clock = timetable(hand_day(), Sequence((1, 2)))
    assert clock.depart == 10
    assert [(s.arrive, s.start, s.leave) for s in clock.stays] == [(30, 30, 60), (85, 85, 105)]
    assert clock.finish == 120
    assert clock.stays[0].slack == 60


def test_no_stop_is_an_empty_day():
    plan = plan_day(DayProblem(((0,),), (0,), (((0, 10),),)))
    assert (plan.sequence.order, plan.travel, plan.optimal) == ((), 0, True)


def test_all_stops_at_one_place_need_no_driving():
    n = 9
    day = DayProblem(((0,) * n,) * n, (0,) + (10,) * (n - 1), (((0, 100),),) * n)
    plan = plan_day(day)
    assert (plan.travel, plan.finish, plan.optimal) == (0, 80, True)


def test_equal_input_gives_the_equal_plan():
    problem = day_table(RURAL[2]["table"])
    assert plan_day(problem) == plan_day(problem)


def test_a_thinned_search_never_claims_proof():
    assert not plan_day(day_table(RURAL[2]["table"]), beam=3).optimal


def test_two_owners_at_the_same_hour_far_apart_are_named_alone():
    far = tuple(tuple(0 if i == j else 62 for j in range(5)) for i in range(5))
    windows = (((0, 630),), ((0, 630),), ((240, 270),), ((240, 270),), ((0, 630),))
    day = DayProblem(far, (0, 20, 20, 20, 20), windows)
    assert plan_day(day) is None
    assert conflict(day).stops == (2, 3)


def test_a_stop_that_closes_before_it_can_be_reached_is_named():
    day = DayProblem(((0, 50), (50, 0)), (0, 20), (((0, 600),), ((0, 30),)))
    assert plan_day(day) is None
    assert conflict(day).stops == (1,)
    assert "closes at 30" in conflict(day).why
