"""Plans one day: quick thinned searches for a good plan, then the exact one that proves it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fieldnotes.planning.day import DayPlan, DayProblem
from fieldnotes.planning.day_bounds import day_bounds
from fieldnotes.planning.day_labels import DaySearch, sequence_of
from fieldnotes.planning.day_times import timetable

if TYPE_CHECKING:
    from fieldnotes.planning.day_labels import Label

_QUICK_BEAMS = (60, 600)
FULL_BEAM = 150_000  # labels per number of stops served: some hundred megabytes at most


def plan_day(problem: DayProblem, beam: int = FULL_BEAM) -> DayPlan | None:
    """Give the best plan of a day, None if no plan obeys it (or a thinned search found none).

    `optimal` is honest: False as soon as one layer of the last search was thinned to `beam`.
    """
    bounds = day_bounds(problem)
    if not bounds.possible:
        return None
    best: Label | None = None
    cost, cut = math.inf, True
    for width in (*(b for b in _QUICK_BEAMS if b < beam), beam):
        search = DaySearch(problem, bounds, cost)
        search.run(width)
        if search.best is not None:
            best, cost = search.best, search.best_cost
        cut = search.cut
        if not cut:
            break
    return None if best is None else _plan(problem, best, cost, optimal=not cut)


def _plan(p: DayProblem, best: Label, cost: float, *, optimal: bool) -> DayPlan:
    sequence = sequence_of(best)
    order = sequence.order
    legs = zip((0, *order), (*order, 0), strict=True)
    travel = sum(p.travel[i][j] for i, j in legs) if order else 0.0
    skipped = tuple(j for j in range(1, p.size) if j not in order)
    return DayPlan(
        sequence=sequence,
        travel=travel,
        finish=timetable(p, sequence).finish,
        penalties=sum(p.penalty(j) or 0.0 for j in skipped),
        cost=cost,
        optimal=optimal,
        skipped=skipped,
    )
