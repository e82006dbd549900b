"""What a day can cost at least: arcs that can be driven, shortest ways, assignment prices."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.planning.day import EPS, DayProblem

if TYPE_CHECKING:
    from collections.abc import Sequence

Matrix = list[list[float]]


@dataclass(frozen=True)
class Bounds:
    """Lower bounds of a day.

    `arcs[i][j]`: whether j can follow i directly; `leave_to_start[i][j]`: least time from
    leaving i to starting j by any way; `out`, `into`: prices such that the rest of a plan
    that stands at i costs at least out[i] + into[0] + the sum of (out + into) of what is
    not yet visited. They are -inf where no plan exists at all.
    """

    arcs: tuple[tuple[bool, ...], ...]
    leave_to_start: tuple[tuple[float, ...], ...]
    out: tuple[float, ...]
    into: tuple[float, ...]
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


def _costs(p: DayProblem, arcs: Sequence[Sequence[bool]], never: float) -> Matrix:
    n = p.size
    extra = p.service if p.minimise == "finish" else (0.0,) * n
    cost = [
        [p.travel[i][j] + extra[j] if arcs[i][j] else never for j in range(n)] for i in range(n)
    ]
    for j in range(1, n):
        penalty = p.penalty(j)
        cost[j][j] = never if penalty is None else penalty
    cost[0][0] = never if any(p.penalty(j) is None for j in range(1, n)) else 0.0
    return cost


def day_bounds(p: DayProblem) -> Bounds:
    """Reckon the lower bounds of a day once, before its search."""
    arcs = open_arcs(p)
    finite = [abs(x) for row in p.travel for x in row]
    known = sum(p.penalty(j) or 0.0 for j in range(1, p.size))
    never = 1.0 + known + sum(p.service) + p.size * max(finite)
    cost = _costs(p, arcs, never)
    u, v = assignment_prices(cost)
    possible = sum(u) + sum(v) < never - EPS
    ways = tuple(tuple(row) for row in _shortest(p, arcs))
    return Bounds(arcs, ways, tuple(u), tuple(v), possible)
