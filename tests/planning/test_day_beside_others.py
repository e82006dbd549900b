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
SCALE = 10  # the days' figures are whole tenths of a minute, so whole numbers lose nothing


def tenths(minutes):
    return round(minutes * SCALE)


class ConstraintModel:
    """The whole day as one circuit with times: windows, skips, stops to come last, locks, break."""

    def __init__(self, cp, p):
        self.m, self.p = cp.CpModel(), p
        self.end = tenths(p.end)
        self.arrive, self.start, self.leave = (
            [self.m.new_int_var(0, self.end, f"{what}{j}") for j in range(p.size)]
            for what in ("arrive", "start", "leave")
        )
        self.served = [self.m.new_bool_var(f"served{j}") for j in range(p.size)]
        self.finish = self.m.new_int_var(0, self.end, "finish")
        drives = list(self._circuit())
        for j in range(1, p.size):
            self._stop(j)
        if p.pause is not None:
            self._rest()
        left = [tenths(p.penalty(j) or 0) * (1 - self.served[j]) for j in range(1, p.size)]
        self.m.minimize(sum(left) + (self.finish if p.minimise == "finish" else sum(drives)))

    def _may_follow(self, i, j):
        p = self.p
        if i in p.last and j and j not in p.last:
            return False
        return p.first is None or (j == p.first) == (i == 0)

    def _circuit(self):
        p, arcs = self.p, []
        for i in range(p.size):
            arcs.append((i, i, ~self.served[i]))
            if i and p.penalty(i) is None:
                self.m.add(self.served[i] == 1)
            for j in (j for j in range(p.size) if j != i and self._may_follow(i, j)):
                used, drive = self.m.new_bool_var(f"a{i},{j}"), tenths(p.travel[i][j])
                arcs.append((i, j, used))
                left = self.leave[i] if i else tenths(p.start)
                to = self.arrive[j] if j else self.finish
                self.m.add(to >= left + drive).only_enforce_if(used)
                yield drive * used
        for j in range(1, p.size):
            self.m.add_implication(self.served[j], self.served[0])
        self.m.add_circuit(arcs)

    def _stop(self, j):
        (opens, closes), serve = self.p.windows[j][0], tenths(self.p.service[j])
        self.m.add(self.start[j] >= self.arrive[j])
        self.m.add(self.start[j] >= tenths(opens)).only_enforce_if(self.served[j])
        self.m.add(self.start[j] <= tenths(closes)).only_enforce_if(self.served[j])
        self.m.add(self.leave[j] >= self.start[j] + serve).only_enforce_if(self.served[j])

    def _rest(self):
        m, rest = self.m, self.p.pause
        begin = m.new_int_var(tenths(rest.earliest), tenths(rest.latest), "rest")
        places = []
        for j in range(1, self.p.size):
            before, after = m.new_bool_var(f"before{j}"), m.new_bool_var(f"after{j}")
            ended = self.start[j] + tenths(self.p.service[j])
            for place, ready, until in (
                (before, self.arrive[j], self.start[j]), (after, ended, self.leave[j]),
            ):  # fmt: skip
                places.append(place)
                m.add_implication(place, self.served[j])
                m.add(begin >= ready).only_enforce_if(place)
                m.add(until >= begin + tenths(rest.minutes)).only_enforce_if(place)
        m.add(sum(places) == self.served[0])


def by_constraints(cp, p):
    """Give (cost or None, proven) of one worker, model building included."""
    solver = cp.CpSolver()
    solver.parameters.max_time_in_seconds = CAP_S
    solver.parameters.num_workers = 1
    status = solver.solve(ConstraintModel(cp, p).m)
    found = status in (cp.OPTIMAL, cp.FEASIBLE)
    return solver.objective_value / SCALE if found else None, status in (cp.OPTIMAL, cp.INFEASIBLE)


def seconds(solve):
    begun = time.process_time()  # both use one thread; a busy machine does not count
    found = solve()
    return found, time.process_time() - begun


@pytest.mark.parametrize(
    ("name", "days", "least_ratio"),
    [
        ("20 stops, all served", [full_day(seed) for seed in range(40)], 2.5),
        ("5-12 stops with every feature", [rural_day(s, 5 + s % 8) for s in range(48)], 3),
    ],
    ids=["full", "rural"],
)
def test_a_constraint_model_proves_the_same_plan_and_takes_longer(name, days, least_ratio):
    cp = pytest.importorskip("ortools.sat.python.cp_model")
    ours, theirs = [], []
    for day in days:
        plan, took = seconds(lambda day=day: plan_day(day))
        (cost, proven), took_theirs = seconds(lambda day=day: by_constraints(cp, day))
        ours.append(took)
        theirs.append(took_theirs)
        assert plan is None or plan.optimal
        if proven:
            assert (plan and plan.cost) == (cost and pytest.approx(cost, abs=1e-3))
    for who, took in (("ours", ours), ("the constraint model", theirs)):
        p95 = sorted(took)[int(0.95 * len(took))]
        print(f"{name}, {who}: median {median(took):.3f} s, p95 {p95:.2f} s, all {sum(took):.1f} s")
    assert sum(theirs) > least_ratio * sum(ours)


def test_up_to_twenty_stops_the_library_is_never_better():
    for seed in range(12):
        for day in (full_day(seed), rural_day(seed, 8 + seed % 5)):
            theirs, ours = library_plan(day), plan_day(day)
            if theirs is not None:
                assert ours.cost <= theirs.cost + 1e-6, seed
