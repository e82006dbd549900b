"""Plans one day: quick thinned searches for a good plan, then the exact one that proves it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fieldnotes.planning.day import EPS, DayPlan, DayProblem, Sequence
from fieldnotes.planning.day_bounds import day_bounds
from fieldnotes.planning.day_labels import DaySearch, sequence_of
from fieldnotes.planning.day_library import library_plan
from fieldnotes.planning.day_subsets import MOST_STOPS, QUICK_STOPS, cheapest_order, no_window_binds
from fieldnotes.planning.day_times import timetable
from fieldnotes.planning.day_walks import DayWalks

if TYPE_CHECKING:
    from fieldnotes.planning.day_bounds import Bounds
    from fieldnotes.planning.day_labels import Label

# (beam, ticks of the walks that bound it): each search costs more than the one before, and either
# proves its plan or leaves a better one to cut the next by. The first is cheaper than any walks.
_STAGES = ((12, 0), (40, 60), (300, 120))
_LAST_TICKS = 180
_GUESS = 1.25  # of the assignment bound: what a day may cost of which no plan is known yet
_LONG_BEAM = 1_500  # a second or two; most choices among up to 18 stops are proven within it
MOST_CHOSEN_FROM = 13
"""Stops of a day among which the best choice is always proven; beyond it where that is quick."""
FULL_BEAM = 150_000  # labels per number of stops served: some hundred megabytes at most


def plan_day(problem: DayProblem, beam: int = FULL_BEAM) -> DayPlan | None:
    """Give the best plan of a day, None if no plan obeys it (or a thinned search found none).

    `optimal` is honest: False as soon as one layer of the last search was thinned to `beam`.
    """
    return better_plan(problem, beam)[0]


def better_plan(
    problem: DayProblem, beam: int, known: float = math.inf
) -> tuple[DayPlan | None, bool]:
    """Give (a plan that costs less than `known` or None, whether it is proven that none is better).

    What is known to be possible at some cost bounds the search from its beginning.
    """
    bounds = day_bounds(problem)
    if not bounds.possible:
        return None, True
    if no_window_binds(problem, bounds, MOST_STOPS if beam >= _LONG_BEAM else QUICK_STOPS):
        order = cheapest_order(problem, bounds)
        plan = None if order is None else _plan(problem, Sequence(order), optimal=True)
        return (plan if plan is not None and plan.cost < known - EPS else None), True
    best: Label | None = None
    cost, cut = known, True
    walks: DayWalks | None = None
    last = (beam, _LAST_TICKS if beam > _STAGES[-1][0] else _STAGES[1][1])
    for width, ticks in (*(s for s in _STAGES if 3 * s[0] < beam), last):
        walks = _walks(problem, bounds, walks, ticks, cost)
        search = DaySearch(problem, bounds, cost, walks)
        search.run(width)
        if search.best is not None:
            best, cost = search.best, search.best_cost
        cut = search.cut
        if not cut:
            break
    if best is None:
        return None, not cut
    return _plan(problem, sequence_of(best), optimal=not cut, cost=cost), not cut


def plan_long_day(problem: DayProblem, beam: int | None = None) -> DayPlan | None:
    """Give a good plan of a day with more stops than can surely be chosen from with proof.

    Our own if a search kept short (to `beam`) proves it; else the better of it and the routing
    library's, where that is installed.
    """
    chosen = any(problem.penalty(j) is not None for j in range(1, problem.size))
    ours = plan_day(problem, beam or (_LONG_BEAM if chosen else FULL_BEAM))
    if ours is not None and ours.optimal:
        return ours
    plans = [plan for plan in (ours, library_plan(problem)) if plan is not None]
    return min(plans, key=lambda plan: plan.cost, default=None)


def _walks(
    p: DayProblem, bounds: Bounds, before: DayWalks | None, ticks: int, known: float
) -> DayWalks | None:
    """Give the walks' bounds, sharper than those `before`; None where they are no use."""
    if not ticks:
        return before
    walks = before if before and before.ticks == ticks else DayWalks(p, bounds, ticks)
    if not walks.usable:
        return before
    sharpest = bounds.prices[-1]
    begin = [a + b for a, b in zip(sharpest.out, sharpest.into, strict=True)]
    target = known if known < math.inf else _GUESS * sum(begin)
    walks.sharpen(before.prices if before else begin, target)
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
