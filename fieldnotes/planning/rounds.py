"""Which visit on which day: the problem of many days and its plan, whichever solver answers.

All numbers are in one unit, whichever it is; row 0 is the base.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldnotes.planning.day import DayProblem


@dataclass(frozen=True)
class RoundsProblem:
    """Visits over days; `penalty[i][d]` is the price of day d for visit i, None: not allowed.

    `windows` bound the start of service on every day alike.
    """

    day_ends: tuple[float, ...]
    travel: tuple[tuple[float, ...], ...]
    service: tuple[float, ...]
    windows: tuple[tuple[float, float], ...]
    penalty: tuple[tuple[float | None, ...], ...]
    unplaced_price: float

    @property
    def days(self) -> range:
        """Give the days, 0 first."""
        return range(len(self.day_ends))

    @property
    def visits(self) -> range:
        """Give the rows that are visits."""
        return range(1, len(self.travel))


Routes = tuple[tuple[int, ...], ...]


class RoundsSolver(Protocol):
    """A solver of many days: (problem, seed) to one order of visits per day."""

    def __call__(self, p: RoundsProblem, seed: int) -> Routes:
        """Give an order per day; what stands in none is unplaced."""


@dataclass(frozen=True)
class RoundsPlan:
    """Orders per day; `cost` is travel plus day penalties, unplaced visits priced apart.

    `bound` is what any plan costs at least (with unplaced visits at their price), by `proof`.
    """

    routes: Routes
    travel: float
    cost: float
    unplaced: tuple[int, ...]
    bound: float
    solver: str
    proof: str

    def gap_percent(self, unplaced_price: float) -> float:
        """Give how far the plan can be from the best possible, in percent of the plan."""
        total = self.cost + len(self.unplaced) * unplaced_price
        return max(0.0, 100 * (total - self.bound) / total) if total > 0 else 0.0


def route_length(p: RoundsProblem, order: tuple[int, ...]) -> float:
    """Give the travel of one day's order, from the base and back."""
    return (
        sum(p.travel[i][j] for i, j in zip((0, *order), (*order, 0), strict=True)) if order else 0
    )


def feasible(p: RoundsProblem, day: int, order: tuple[int, ...]) -> bool:
    """Tell whether an order keeps its windows and the day's end."""
    time, here = p.windows[0][0], 0
    for j in order:
        time = max(time + p.travel[here][j], p.windows[j][0])
        if time > p.windows[j][1] or p.penalty[j][day] is None:
            return False
        time, here = time + p.service[j], j
    return not order or time + p.travel[here][0] <= min(p.day_ends[day], p.windows[0][1])


def total_cost(p: RoundsProblem, routes: Routes) -> float:
    """Give travel + day penalties + the price of what is unplaced."""
    placed = sum(len(order) for order in routes)
    late = sum(p.penalty[j][d] or 0.0 for d, order in enumerate(routes) for j in order)
    driving = sum(route_length(p, order) for order in routes)
    return driving + late + (len(p.visits) - placed) * p.unplaced_price


def solve_rounds(
    p: RoundsProblem,
    seeds: tuple[int, ...] = (1, 2, 4, 6, 8, 10, 12),
    progress: Callable[[int, float], bool] | None = None,
) -> RoundsPlan:
    """Give the best plan of several short seeded runs, each day put in its best order.

    `progress(seeds done, best cost)` may return False to stop early.
    """
    from fieldnotes.planning.rounds_bound import lower_bound  # noqa: PLC0415  (numpy is slow)
    from fieldnotes.planning.rounds_search import chosen_solver  # noqa: PLC0415

    solver, name = chosen_solver()
    best: Routes = ((),) * len(p.day_ends)
    for done, seed in enumerate(seeds, 1):
        best = min(best, kept(p, solver(p, seed)), key=lambda routes: total_cost(p, routes))
        if progress is not None and not progress(done, total_cost(p, best)):
            break
    routes = resequenced(p, best)
    travel = sum(route_length(p, order) for order in routes)
    unplaced = tuple(j for j in p.visits if not any(j in order for order in routes))
    cost = total_cost(p, routes) - len(unplaced) * p.unplaced_price
    bound, proof = lower_bound(p, total_cost(p, routes))
    return RoundsPlan(routes, travel, cost, unplaced, bound, name, proof)


def kept(p: RoundsProblem, routes: Routes) -> Routes:
    """Keep the days that obey every rule; a solver's broken day counts as nothing placed."""
    return tuple(order if feasible(p, d, order) else () for d, order in enumerate(routes))


def resequenced(p: RoundsProblem, routes: Routes) -> Routes:
    """Put each day in its best order by the day solver, so that all times are from one engine."""
    from fieldnotes.planning import day as one_day  # noqa: PLC0415  (loaded when planning)
    from fieldnotes.planning.day_solver import plan_day  # noqa: PLC0415
    from fieldnotes.planning.day_why import only  # noqa: PLC0415

    done = []
    for day, order in enumerate(routes):
        rows = tuple(sorted(order))
        windows = tuple((window,) for window in p.windows)
        part = only(one_day.DayProblem(p.travel, p.service, windows, p.day_ends[day]), rows)
        plan = plan_day(_by_travel(part), beam=3000) if order else None
        best = order if plan is None else tuple(rows[j - 1] for j in plan.sequence.order)
        done.append(min(best, order, key=lambda o: (route_length(p, o), o != best)))
    return tuple(done)


def _by_travel(part: DayProblem) -> DayProblem:
    from dataclasses import replace  # noqa: PLC0415

    return replace(part, minimise="travel")
