"""Which visit on which day: the problem of many days and its plan, whichever solver answers.

All numbers are in one unit, whichever it is; row 0 is the base.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True)
class RoundsProblem:
    """Visits over days; `penalty[i][d]` is the price of day d for visit i, None: not allowed.

    `windows` bound the start of service on every day alike; `most_visits` and `most_service`
    cap each day (None: only its length does).
    """

    day_ends: tuple[float, ...]
    travel: tuple[tuple[float, ...], ...]
    service: tuple[float, ...]
    windows: tuple[tuple[float, float], ...]
    penalty: tuple[tuple[float | None, ...], ...]
    unplaced_price: float
    most_visits: int | None = None
    most_service: float | None = None

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

    def least_cost(self, unplaced_price: float) -> float:
        """Give what any plan that leaves no more visits out than this one costs at least."""
        return max(0.0, self.bound - len(self.unplaced) * unplaced_price)

    def gap_percent(self, unplaced_price: float) -> float:
        """Give how far the cost can be from the least possible, in percent of it."""
        gap = self.cost - self.least_cost(unplaced_price)
        return 100 * max(0.0, gap) / self.cost if self.cost > 0 else 0.0


def route_length(p: RoundsProblem, order: tuple[int, ...]) -> float:
    """Give the travel of one day's order, from the base and back."""
    return (
        sum(p.travel[i][j] for i, j in zip((0, *order), (*order, 0), strict=True)) if order else 0
    )


def feasible(p: RoundsProblem, day: int, order: tuple[int, ...]) -> bool:
    """Tell whether an order keeps its windows, the day's end and its caps."""
    if p.most_visits is not None and len(order) > p.most_visits:
        return False
    if p.most_service is not None and sum(p.service[j] for j in order) > p.most_service:
        return False
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
