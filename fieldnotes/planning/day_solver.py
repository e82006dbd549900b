"""Plans one day: quick thinned searches for a good plan, then the exact one that proves it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fieldnotes.planning.day import DayPlan, DayProblem, Sequence
from fieldnotes.planning.day_bounds import day_bounds
from fieldnotes.planning.day_labels import DaySearch, sequence_of
from fieldnotes.planning.day_library import library_plan
from fieldnotes.planning.day_subsets import cheapest_order, no_window_binds
from fieldnotes.planning.day_times import timetable
from fieldnotes.planning.day_walks import DayWalks

if TYPE_CHECKING:
    from fieldnotes.planning.day_bounds import Bounds
    from fieldnotes.planning.day_labels import Label

_QUICK_BEAMS = (12, 300)  # the first without the walks, which cost more than it
_WITHOUT_LIBRARY = 1_500
MOST_CHOSEN_FROM = 13
"""Stops of a day among which the best choice is proven; beyond it a plan is only the best found."""
FULL_BEAM = 150_000  # labels per number of stops served: some hundred megabytes at most


def plan_day(problem: DayProblem, beam: int = FULL_BEAM) -> DayPlan | None:
    """Give the best plan of a day, None if no plan obeys it (or a thinned search found none).

    `optimal` is honest: False as soon as one layer of the last search was thinned to `beam`.
    """
    bounds = day_bounds(problem)
    if not bounds.possible:
        return None
    if no_window_binds(problem, bounds):
        order = cheapest_order(problem, bounds)
        return None if order is None else _plan(problem, Sequence(order), optimal=True)
    best: Label | None = None
    cost, cut = math.inf, True
    walks: DayWalks | None = None
    for width in (*(b for b in _QUICK_BEAMS if b < beam), beam):
        if walks is None and width > _QUICK_BEAMS[0]:
            walks = _walks(problem, bounds, cost)
        search = DaySearch(problem, bounds, cost, walks)
        search.run(width)
        if search.best is not None:
            best, cost = search.best, search.best_cost
        cut = search.cut
        if not cut:
            break
    return None if best is None else _plan(problem, sequence_of(best), optimal=not cut, cost=cost)


def plan_long_day(problem: DayProblem) -> DayPlan | None:
    """Give a good plan of a day with more stops than can be chosen from with proof in a second.

    The better of a thinned search of ours and the routing library's, where that is installed.
    """
    if all(problem.penalty(j) is None for j in range(1, problem.size)):
        return better_of(plan_day(problem, FULL_BEAM), problem)
    theirs = library_plan(problem)
    ours = plan_day(problem, _WITHOUT_LIBRARY if theirs is None else _QUICK_BEAMS[0])
    return _cheaper(ours, theirs)


def better_of(ours: DayPlan | None, problem: DayProblem) -> DayPlan | None:
    """Give the better of our plan and the library's, ours if it is proven."""
    if ours is not None and ours.optimal:
        return ours
    return _cheaper(ours, library_plan(problem))


def _cheaper(ours: DayPlan | None, theirs: DayPlan | None) -> DayPlan | None:
    plans = [plan for plan in (ours, theirs) if plan is not None]
    return min(plans, key=lambda plan: plan.cost, default=None)


def _walks(p: DayProblem, bounds: Bounds, known: float) -> DayWalks | None:
    """Give the walks' bounds, None where they are no use."""
    walks = DayWalks(p, bounds)
    if not walks.usable or known == math.inf:
        return None
    plain = bounds.prices[0]
    walks.sharpen([a + b for a, b in zip(plain.out, plain.into, strict=True)], known)
    return walks


def _plan(
    p: DayProblem, sequence: Sequence, *, optimal: bool, cost: float | None = None
) -> DayPlan:
    order = sequence.order
    legs = zip((0, *order), (*order, 0), strict=True)
    travel = sum(p.travel[i][j] for i, j in legs) if order else 0.0
    skipped = tuple(j for j in range(1, p.size) if j not in order)
    finish = timetable(p, sequence).finish
    penalties = sum(p.penalty(j) or 0.0 for j in skipped)
    plain = penalties + (finish if p.minimise == "finish" else travel)
    return DayPlan(
        sequence=sequence,
        travel=travel,
        finish=finish,
        penalties=penalties,
        cost=plain if cost is None else cost,
        optimal=optimal,
        skipped=skipped,
    )
