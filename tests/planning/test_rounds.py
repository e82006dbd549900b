"""Which visit on which day: against proven optima, by library and by our own heuristic."""

from __future__ import annotations

import datetime as dt
import json
import math
import random
from itertools import permutations
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.patients import Position, WeeklyWindow
from fieldnotes.planning import rounds_search
from fieldnotes.planning.rounds import feasible, total_cost
from fieldnotes.planning.rounds_insertion import repaired, ruin_and_recreate
from fieldnotes.planning.rounds_solver import solve_rounds
from fieldnotes.planning.rounds_tables import rounds_table
from fieldnotes.planning.roundtrips import RoundVisit, plan_rounds
from fieldnotes.planning.route_day import Ground, Workday
from fieldnotes.planning.travel import TravelModel

# Optima proven by enumerating every feasible day set and closing the set-partitioning MIP.
CASES = json.loads((Path(__file__).parent / "data" / "rural-fortnights.json").read_text())
ZONE = ZoneInfo("Europe/London")
GROUND = Ground(ZONE, Position(52.0, -2.5), TravelModel())
SMALL = {
    "days": 2,
    "day_end": 100,
    "travel": [[0, 10, 20], [10, 0, 5], [20, 5, 0]],
    "service": [0, 10, 10],
    "windows": [[0, 100]] * 3,
    "allowed_days": [[], [0], [0, 1]],
    "day_penalty": [{}, {"0": 0}, {"0": 0, "1": 40}],
}


@pytest.mark.long
@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_a_fortnight_is_within_one_percent_and_its_bound_within_ten(case):
    problem = rounds_table(case["table"])
    plan = solve_rounds(problem)
    assert plan.unplaced == ()
    assert case["optimum"] <= plan.cost <= 1.01 * case["optimum"]
    assert 0.9 * case["optimum"] <= plan.bound <= case["optimum"]


@pytest.mark.long
@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_the_optimum_of_a_fortnight_is_proven_anew(case):
    pytest.importorskip("scipy", reason="heavy: installed by .ci/long")
    from tests.planning.exact_rounds import proven_cost

    proven, bound = proven_cost(rounds_table(case["table"]))
    assert proven == pytest.approx(case["optimum"], abs=0.5)
    assert 0.98 * proven <= bound <= proven + 1e-6


@pytest.mark.long
@pytest.mark.parametrize("seed", range(40))
def test_plan_and_bound_of_few_visits_stand_on_either_side_of_the_proven_optimum(seed):
    pytest.importorskip("scipy", reason="heavy: installed by .ci/long")
    from tests.planning.exact_rounds import proven_cost

    problem = rounds_table(a_few_visits(seed))
    proven, _ = proven_cost(problem)
    tried = min(total_cost(problem, routes) for routes in every_plan(problem))
    plan = solve_rounds(problem, seeds=(1,))
    assert proven == pytest.approx(tried)
    assert plan.bound <= proven + 1e-6 <= total_cost(problem, plan.routes) + 2e-6


def a_few_visits(seed):
    """A table of four visits on two days that are short, so that some days hold not all."""
    draw = random.Random(seed)  # noqa: S311
    points = [(draw.randrange(40), draw.randrange(40)) for _ in range(5)]
    drives = [[round(math.dist(a, b)) for b in points] for a in points]
    opens = [draw.choice((0, 0, 30, 60)) for _ in points]
    allowed = [sorted(draw.sample((0, 1), draw.choice((1, 2, 2)))) for _ in points[1:]]
    return {
        "days": 2,
        "day_end": 130,
        "travel": drives,
        "service": [0, 10, 15, 20, 25],
        "windows": [[0, 130], *([a, a + 60] for a in opens[1:])],
        "allowed_days": [[], *allowed],
        "day_penalty": [{}, *({str(d): 30 * d for d in days} for days in allowed)],
    }


def every_plan(p):
    """Every order of every choice of visits on two days that keeps the rules."""
    picks = [order for n in range(5) for order in permutations(p.visits, n)]
    first, second = ([o for o in picks if feasible(p, day, o)] for day in p.days)
    return [(a, b) for a in first for b in second if not {*a} & {*b}]


def test_without_the_library_the_plain_heuristic_answers_and_says_so(monkeypatch):
    monkeypatch.setattr(rounds_search, "find_spec", lambda name: None)
    plan = solve_rounds(rounds_table(SMALL), seeds=(1,))
    assert (plan.cost, plan.unplaced) == (35, ())
    assert "plain heuristic" in plan.solver
    assert plan.bound <= 35


def test_the_plain_heuristic_keeps_every_rule_and_repeats_itself():
    problem = rounds_table(CASES[0]["table"])
    routes = ruin_and_recreate(problem, 1)
    assert all(feasible(problem, day, order) for day, order in enumerate(routes))
    assert total_cost(problem, routes) < 1.1 * CASES[0]["optimum"]
    assert routes == ruin_and_recreate(problem, 1)


def test_a_visit_no_day_can_hold_is_unplaced_and_priced():
    plan = solve_rounds(rounds_table(SMALL | {"allowed_days": [[], [0], []]}), seeds=(1,))
    assert plan.unplaced == (2,)
    assert plan.cost == 20


def test_no_visit_is_an_empty_plan():
    empty = {"days": 1, "day_end": 9, "travel": [[0]], "service": [0], "windows": [[0, 9]]}
    plan = solve_rounds(rounds_table(empty | {"allowed_days": [[]]}), seeds=(1,))
    assert (plan.routes, plan.cost, plan.unplaced) == (((),), 0, ())


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"travel": [[0, 1], [1, 0, 1], [1, 1, 0]]}, "travel[0]"),
        ({"service": [0, -1, 1]}, "service[1]"),
        ({"allowed_days": [[], [2], []]}, "allowed_days[1][0]"),
        ({"days": 0}, "days"),
        ({"day_penalty": [{}, {"9": 1}, {}]}, "day_penalty[1].9"),
    ],
)
def test_a_bad_table_is_refused_naming_the_place(change, place):
    with pytest.raises(RefusedInputError) as refused:
        rounds_table(SMALL | change)
    assert refused.value.field == place


def test_real_visits_stand_on_days_their_owners_can_be_met():
    days = tuple(
        Workday(
            d,
            dt.datetime.combine(d, dt.time(7, 30), ZONE),
            dt.datetime.combine(d, dt.time(18), ZONE),
        )
        for d in (dt.date(2026, 11, 23 + i) for i in range(3))
    )
    tuesday = WeeklyWindow(1, dt.time(9), dt.time(11))
    first, last = days[0].date, days[-1].date
    visits = (
        RoundVisit("a", "p1", Position(52.1, -2.5), 30, first, first, last, hours=(tuesday,)),
        RoundVisit("b", "p2", Position(52.1, -2.4), 30, first, last, last),
        RoundVisit("c", "p3", None, 30, first, last, last),
        RoundVisit("d", "p4", Position(52.2, -2.4), 30, dt.date(2027, 1, 1), last, last),
    )
    planned = plan_rounds(GROUND, days, visits, seeds=(2,))
    assert sorted(s.stop for s in planned.days[1].stops) == ["a", "b"]
    assert {u[0] for u in planned.unplaced} == {"c", "d"}
    assert planned.drive_min == pytest.approx(sum(d.drive_min for d in planned.days))


def weekdays(count):
    dates = [dt.date(2026, 11, 23) + dt.timedelta(days=i) for i in range(count)]
    return tuple(
        Workday(
            d,
            dt.datetime.combine(d, dt.time(7, 30), ZONE),
            dt.datetime.combine(d, dt.time(18), ZONE),
        )
        for d in dates
    )


def a_round_visit(name, premises="p1", **more):
    first, last = dt.date(2026, 11, 23), dt.date(2026, 11, 25)
    return RoundVisit(name, premises, Position(52.1, -2.5), 30, first, first, last, **more)


def test_two_visits_at_one_premises_on_a_day_are_one_stop():
    visits = (a_round_visit("b", contaminated=True), a_round_visit("a", urgency="same day"))
    planned = plan_rounds(GROUND, weekdays(1), visits, seeds=(2,))
    (only,) = planned.days[0].stops
    assert only.stop == "a"
    assert (only.leave - only.start).total_seconds() / 60 == pytest.approx(60)
    assert planned.joined == (("a", "b"),)


def test_visits_at_one_premises_with_no_hour_in_common_stay_apart():
    morning = WeeklyWindow(0, dt.time(8), dt.time(9))
    evening = WeeklyWindow(0, dt.time(16), dt.time(17))
    visits = (a_round_visit("a", hours=(morning,)), a_round_visit("b", hours=(evening,)))
    planned = plan_rounds(GROUND, weekdays(1), visits, seeds=(2,))
    assert [s.stop for s in planned.days[0].stops] == ["a", "b"]
    assert planned.joined == ()


def test_equal_visits_in_any_order_give_the_equal_plan():
    visits = tuple(a_round_visit(f"v{i}", f"p{i % 3}") for i in range(6))
    once = plan_rounds(GROUND, weekdays(3), visits, seeds=(1,))
    assert once == plan_rounds(GROUND, weekdays(3), visits[::-1], seeds=(1,))


@pytest.mark.parametrize("broken", [((2, 1, 2), ()), ((1, 2), (2,)), ((), (1,)), ((), ())], ids=str)
def test_a_day_a_solver_breaks_is_repaired_not_dropped(broken):
    problem = rounds_table(SMALL | {"windows": [[0, 100], [0, 15], [0, 100]]})
    routes = repaired(problem, broken)
    assert sorted(j for order in routes for j in order) == [1, 2]
    assert all(feasible(problem, day, order) for day, order in enumerate(routes))


def test_an_owner_with_other_hours_on_other_days_is_met_in_hours_good_that_day():
    hours = (
        WeeklyWindow(0, dt.time(8), dt.time(9)),
        WeeklyWindow(1, dt.time(15), dt.time(16)),
    )
    planned = plan_rounds(GROUND, weekdays(3), (a_round_visit("a", hours=hours),), seeds=(2,))
    assert [s.late_min for day in planned.days for s in day.stops] == [0]
