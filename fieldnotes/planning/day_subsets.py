"""A day on which no window binds: the cheapest way through every set of stops.

Nobody waits and nobody is late then, so the clock of a set is its driving plus its services, and
one number for each set and last stop is enough (Bellman 1962; Held and Karp 1962).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fieldnotes.planning.day import EPS

if TYPE_CHECKING:
    from fieldnotes.planning.day import DayProblem
    from fieldnotes.planning.day_bounds import Bounds

QUICK_STOPS, MOST_STOPS = 13, 15  # a tenth of a second, half a second: twice for every one more
_Ends = list[list[tuple[int, float]]]  # by set of stops as bits: (last stop, least driving)


def no_window_binds(p: DayProblem, bounds: Bounds, most: int = MOST_STOPS) -> bool:
    """Tell whether this way of planning holds: no break, no wait, no closing time but the end."""
    if p.size - 1 > most or p.pause is not None or p.overtime_cost is not None:
        return False
    latest = min(p.end, p.start + sum(p.service) + sum(max(row) for row in p.travel))
    return all(
        len(p.windows[j]) == 1
        and p.windows[j][0][0] <= p.start + bounds.leave_to_start[0][j] + EPS
        and p.windows[j][0][1] + p.service[j] + p.travel[j][0] >= latest - EPS
        for j in range(1, p.size)
    )


def cheapest_order(p: DayProblem, bounds: Bounds) -> tuple[int, ...] | None:
    """Give the best order of the best set of stops, None if no set can be driven."""
    ends = _all_ends(p, bounds)
    found: tuple[float, int, int] | None = None
    for chosen in range(len(ends)):
        cost, last = _whole(p, bounds, chosen, ends[chosen])
        if found is None or cost < found[0] - EPS:
            found = (cost, chosen, last)
    if found is None or math.isinf(found[0]):
        return None
    return _traced(_ways(p, bounds), ends, found[1], found[2])


def _ways(p: DayProblem, bounds: Bounds) -> list[list[float]]:
    """Give the drives into each stop, without end where the order forbids one."""
    rows = range(p.size)
    return [[p.travel[i][j] if bounds.arcs[i][j] else math.inf for i in rows] for j in rows]


def _all_ends(p: DayProblem, bounds: Bounds) -> _Ends:
    """Reckon every set of stops, smaller sets first: bit j - 1 stands for stop j."""
    into = _ways(p, bounds)
    ends: _Ends = [[(0, 0.0)]]
    bits = [(j, 1 << (j - 1), into[j]) for j in range(1, p.size)]
    for chosen in range(1, 1 << (p.size - 1)):
        row = []
        for j, bit, drives in bits:
            if chosen & bit:
                least = min([cost + drives[i] for i, cost in ends[chosen ^ bit]], default=math.inf)
                if least < math.inf:
                    row.append((j, least))
        ends.append(row)
    return ends


def _whole(
    p: DayProblem, bounds: Bounds, chosen: int, row: list[tuple[int, float]]
) -> tuple[float, int]:
    """Give (cost, last stop) of a day that serves this set; without end if it cannot be."""
    served, left = 0.0, 0.0
    for j in range(1, p.size):
        if chosen >> (j - 1) & 1:
            served += p.service[j]
        else:
            penalty = p.penalty(j)
            if penalty is None:
                return math.inf, 0
            left += penalty
    ways = [(cost + p.travel[j][0], j) for j, cost in row if not j or bounds.arcs[j][0]]
    drive, last = min(ways, default=(math.inf, 0))
    finish = p.start + drive + served
    if chosen and finish > p.end + EPS:
        return math.inf, 0
    return (finish if p.minimise == "finish" else drive) + left, last


def _traced(into: list[list[float]], ends: _Ends, chosen: int, last: int) -> tuple[int, ...]:
    order: list[int] = []
    while last:
        order.append(last)
        chosen ^= 1 << (last - 1)
        drives = into[last]
        last = min(ends[chosen], key=lambda end: end[1] + drives[end[0]])[0]
    return tuple(order[::-1])
