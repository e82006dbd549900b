"""Plans one day: a quick thinned search for a good plan, then the exact one that beats or proves it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fieldnotes.planning.day import DayPlan, DayProblem
from fieldnotes.planning.day_bounds import day_bounds
from fieldnotes.planning.day_labels import DaySearch, sequence_of
from fieldnotes.planning.day_times import timetable

if TYPE_CHECKING:
    from fieldnotes.planning.day_labels import _Label

_QUICK_BEAMS = (60, 600)
FULL_BEAM = 150_000  # labels per layer; keeps memory under a few hundred megabytes


def plan_day(problem: DayProblem, beam: int = FULL_BEAM) -> DayPlan | None:
    """Give the best plan of a day, None if no plan obeys it (or none was found).

    `optimal` is honest: False as soon as one layer had to be thinned to `beam`.
    """
    bounds = day_bounds(problem)
    if not bounds.possible:
        return None
    best: _Label | None = None
    cost = math.inf
    for width in (*(b for b in _QUICK_BEAMS if b < beam), beam):
        search = DaySearch(problem, bounds, cost)
        search.run(width)
        if search.best is not None:
            best, cost = search.best, search.best_cost
        if not search.cut:
            break
    if best is None:
        return None
    return _plan(problem, best, cost, optimal=not search.cut)
