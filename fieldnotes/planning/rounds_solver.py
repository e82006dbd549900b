"""Plans many days: several short seeded searches, each day then in the day solver's order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.planning.day import DayProblem
from fieldnotes.planning.day_solver import plan_day
from fieldnotes.planning.day_why import only
from fieldnotes.planning.rounds import RoundsPlan, route_length, total_cost
from fieldnotes.planning.rounds_bound import lower_bound
from fieldnotes.planning.rounds_insertion import repaired
from fieldnotes.planning.rounds_search import chosen_solver

if TYPE_CHECKING:
    from fieldnotes.planning.rounds import RoundsProblem, Routes

Progress = Callable[[int, int, float], bool]
"""Told (seeds done, seeds in all, best cost) after each; False stops early with the best plan."""
_BEAM = 3000  # a day of a fortnight is short; its order is rarely improved at all


def solve_rounds(
    p: RoundsProblem,
    seeds: tuple[int, ...] = (1, 2, 4, 6, 8, 10, 12),
    progress: Progress | None = None,
) -> RoundsPlan:
    """Give the best plan of several short seeded runs, each day put in its best order."""
    solver, name = chosen_solver()
    best: Routes = ((),) * len(p.day_ends)
    for done, seed in enumerate(seeds, 1):
        best = min(best, repaired(p, solver(p, seed)), key=lambda routes: total_cost(p, routes))
        if progress is not None and not progress(done, len(seeds), total_cost(p, best)):
            break
    routes = resequenced(p, best)
    travel = sum(route_length(p, order) for order in routes)
    unplaced = tuple(j for j in p.visits if not any(j in order for order in routes))
    cost = total_cost(p, routes) - len(unplaced) * p.unplaced_price
    bound, proof = lower_bound(p, total_cost(p, routes))
    return RoundsPlan(routes, travel, cost, unplaced, bound, name, proof)


def resequenced(p: RoundsProblem, routes: Routes) -> Routes:
    """Put each day in its best order by the day solver, so that all times are from one engine."""
    return tuple(_best_order(p, day, order) for day, order in enumerate(routes))


def _best_order(p: RoundsProblem, day: int, order: tuple[int, ...]) -> tuple[int, ...]:
    if len(order) < 2:
        return order
    rows = tuple(sorted(order))
    whole = DayProblem(p.travel, p.service, tuple((w,) for w in p.windows), p.day_ends[day])
    plan = plan_day(replace(only(whole, rows), minimise="travel"), _BEAM)
    if plan is None:
        return order
    best = tuple(rows[j - 1] for j in plan.sequence.order)
    return min(best, order, key=lambda o: (route_length(p, o), o != best))
