"""The day solver beside other ways to solve the same day, in one run. The CP model is test-only:
`pip install ortools` (Apache-2.0) to run it."""

from __future__ import annotations

import time
from statistics import median

import pytest

from fieldnotes.planning.day_library import library_plan
from fieldnotes.planning.day_solver import plan_day
from tests.benchmarks.day_solver import full_day, rural_day

pytestmark = pytest.mark.long
CAP_S = 60.0


def by_constraints(p):
    """Prove the least travel of a day on which all are served: one circuit with times."""
    model_of = pytest.importorskip("ortools.sat.python.cp_model")
    model, scale, n = model_of.CpModel(), 10, p.size
    end = round(p.end * scale)
    start = [model.new_int_var(0, end, f"s{j}") for j in range(n)]
    arcs, costs = [], []
    for i in range(n):
        for j in range(n):
            if i == j or (i in p.last and j and j not in p.last):
                continue
            used = model.new_bool_var(f"a{i},{j}")
            drive = round(p.travel[i][j] * scale)
            arcs.append((i, j, used))
            costs.append(drive * used)
            leave = start[i] + round(p.service[i] * scale) if i else 0
            if j:
                model.add(start[j] >= leave + drive).only_enforce_if(used)
            else:
                model.add(leave + drive <= end).only_enforce_if(used)
    model.add_circuit(arcs)
    for j in range(1, n):
        opens, closes = p.windows[j][0]
        model.add(start[j] >= round(opens * scale))
        model.add(start[j] <= min(end, int(closes * scale)))
    model.minimize(sum(costs))
    solver = model_of.CpSolver()
    solver.parameters.max_time_in_seconds = CAP_S
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    proven = status == model_of.OPTIMAL
    return (solver.objective_value / scale if status in (model_of.OPTIMAL, model_of.FEASIBLE)
            else None), proven  # fmt: skip


def test_a_constraint_model_proves_the_same_least_travel():
    ours, theirs = [], []
    for seed in range(6):
        day = full_day(seed)
        begun = time.process_time()
        plan = plan_day(day)
        ours.append(time.process_time() - begun)
        begun = time.process_time()
        cost, proven = by_constraints(day)
        theirs.append(time.process_time() - begun)
        assert plan.optimal
        assert proven
        assert plan.travel == pytest.approx(cost, abs=1.1)  # tenths, rounded in each drive
    print(f"ours {median(ours):.2f} s, the constraint model {median(theirs):.2f} s")


def test_up_to_twenty_stops_the_library_is_never_better():
    for seed in range(12):
        for day in (full_day(seed), rural_day(seed, 8 + seed % 5)):
            theirs, ours = library_plan(day), plan_day(day)
            if theirs is not None:
                assert ours.cost <= theirs.cost + 1e-6, seed
