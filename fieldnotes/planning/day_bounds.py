"""What a day can cost at least: arcs that can be driven, shortest ways, assignment prices."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.planning.day import EPS, DayProblem

if TYPE_CHECKING:
    from collections.abc import Sequence

Matrix = list[list[float]]
# Prices of time tried, cost per unit: the best bound is flat around its top.
_RATES = (0.1, 0.2, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0, 3.0, 5.0, 8.0, 13.0, 20.0)


@dataclass(frozen=True)
class Prices:
    """What each stop is worth.

    What is left of a plan standing at i, at time t, costs at least
    out[i] + into[0] + sum over the stops not yet visited of (out + into) - per_time * (end - t).

    `per_time` prices the time that is left: it tells that a full day cannot serve them all.
    """

    per_time: float
    out: tuple[float, ...]
    into: tuple[float, ...]


@dataclass(frozen=True)
class Bounds:
    """Lower bounds of a day.

    `arcs[i][j]`: whether j can follow i directly; `leave_to_start[i][j]`: least time from
    leaving i to starting j by any way; `prices`: one set, or two if time is scarce.
    """

    arcs: tuple[tuple[bool, ...], ...]
    leave_to_start: tuple[tuple[float, ...], ...]
    prices: tuple[Prices, ...]
    possible: bool


def _order_allows(p: DayProblem, i: int, j: int) -> bool:
    if i == j or (i in p.last and j and j not in p.last):
        return False
    if p.first is not None and (j == p.first) != (i == 0):
        return False
    return p.final is None or (i == p.final) == (j == 0)


def _latest(p: DayProblem, j: int) -> float:
    if j == 0:
        return p.end if p.overtime_cost is None else math.inf
    return p.windows[j][-1][1] if p.late_cost is None else math.inf


def _time_allows(p: DayProblem, i: int, j: int) -> bool:
    leave = p.start if i == 0 else max(p.start, p.windows[i][0][0]) + p.service[i]
    return leave + p.travel[i][j] <= _latest(p, j) + EPS


def open_arcs(p: DayProblem) -> tuple[tuple[bool, ...], ...]:
    """Give which stop can directly follow which, by order rules and clock."""
    rows = range(p.size)
    return tuple(
        tuple(_order_allows(p, i, j) and _time_allows(p, i, j) for j in rows) for i in rows
    )


def _shortest(p: DayProblem, arcs: tuple[tuple[bool, ...], ...]) -> Matrix:
    n = p.size
    way = [[p.travel[i][j] if arcs[i][j] else math.inf for j in range(n)] for i in range(n)]
    for k in range(1, n):
        to_end, serve = way[k], p.service[k]
        for i in range(n):
            through = way[i][k] + serve
            if through < math.inf:
                way[i] = [min(w, through + e) for w, e in zip(way[i], to_end, strict=True)]
    return way


def assignment_prices(cost: Matrix) -> tuple[list[float], list[float]]:
    """Give dual prices (u, v) with u[i] + v[j] <= cost[i][j] whose sum is the least assignment.

    Shortest augmenting paths (Kuhn 1955, Munkres 1957; Jonker and Volgenant 1987).
    """
    n = len(cost)
    u, v = [0.0] * (n + 1), [0.0] * (n + 1)
    row_of = [n] * (n + 1)
    for i in range(n):
        row_of[n] = i
        _augment(cost, u, v, row_of)
    return u[:n], v[:n]


def _augment(cost: Matrix, u: list[float], v: list[float], row_of: list[int]) -> None:
    n = len(cost)
    least, came, used = [math.inf] * (n + 1), [n] * (n + 1), [False] * (n + 1)
    column = n
    while row_of[column] != n or column == n:
        used[column] = True
        row, step, nearest = row_of[column], math.inf, n
        costs, price = cost[row], u[row]
        for j in range(n):
            if used[j]:
                continue
            slack = costs[j] - price - v[j]
            if slack < least[j]:
                least[j], came[j] = slack, column
            if least[j] < step:
                step, nearest = least[j], j
        for j in range(n + 1):
            if used[j]:
                u[row_of[j]] += step
                v[j] -= step
            else:
                least[j] -= step
        column = nearest
    while column != n:
        row_of[column] = row_of[came[column]]
        column = came[column]


def _costs(p: DayProblem, arcs: Sequence[Sequence[bool]], never: float, per_time: float) -> Matrix:
    n = p.size
    serve = per_time + (1.0 if p.minimise == "finish" else 0.0)
    cost = [
        [
            (1 + per_time) * p.travel[i][j] + serve * p.service[j] if arcs[i][j] else never
            for j in range(n)
        ]
        for i in range(n)
    ]
    for j in range(1, n):
        penalty = p.penalty(j)
        cost[j][j] = never if penalty is None else penalty
    cost[0][0] = never if any(p.penalty(j) is None for j in range(1, n)) else 0.0
    return cost


def _never(p: DayProblem) -> float:
    """Give a cost no plan reaches, for what cannot be."""
    penalties = sum(p.penalty(j) or 0.0 for j in range(1, p.size))
    return 1.0 + penalties + sum(p.service) + p.size * max(max(row) for row in p.travel)


def _priced(p: DayProblem, arcs: tuple[tuple[bool, ...], ...], per_time: float) -> Prices:
    u, v = assignment_prices(_costs(p, arcs, (1 + per_time) * _never(p), per_time))
    return Prices(per_time, tuple(u), tuple(v))


def _worth(p: DayProblem, prices: Prices) -> float:
    """Give what the prices say the whole day costs at least."""
    spare = prices.per_time * (p.end - p.start) if prices.per_time else 0.0
    return sum(prices.out) + sum(prices.into) - spare


def least_over(p: DayProblem) -> float:
    """Give by how long at least a day is over if all is served that must be; below 0: it may fit.

    Each stop is driven to by its shortest drive, and so is the base.
    """
    drives = [min(row[j] for i, row in enumerate(p.travel) if i != j) for j in range(p.size)]
    must = [j for j in range(1, p.size) if p.penalty(j) is None]
    home = drives[0] if must else 0.0
    return p.start + sum(p.service[j] + drives[j] for j in must) + home - p.end


def day_bounds(p: DayProblem) -> Bounds:
    """Reckon the lower bounds of a day once, before its search."""
    arcs = open_arcs(p)
    plain = _priced(p, arcs, 0.0)
    too_long = p.overtime_cost is None and p.size > 1 and least_over(p) > EPS
    possible = not too_long and _worth(p, plain) < _never(p) - EPS
    ways = tuple(tuple(row) for row in _shortest(p, arcs))
    most = math.inf if p.overtime_cost is None else p.overtime_cost  # what time over costs at most
    rates = [rate for rate in _RATES if rate <= most] if p.end < math.inf else []
    prices = [plain]
    if possible and rates and any(p.penalty(j) is not None for j in range(1, p.size)):
        best = max((_priced(p, arcs, rate) for rate in rates), key=lambda q: _worth(p, q))
        if _worth(p, best) > _worth(p, plain):
            prices.append(best)
    return Bounds(arcs, ways, tuple(prices), possible)
