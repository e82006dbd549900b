"""What the rest of a day costs at least: walks on a clock that may come to a stop twice.

Each stop gets a price, paid to whoever visits it. The rest of a day then costs at least its
cheapest walk home (time kept, never straight back) plus the prices of what is still to do; the
prices are raised and lowered until that is as large as they make it. Valid for any prices
(Lagrangian relaxation; walks without two-cycles: Christofides, Mingozzi, Toth, Networks 11, 1981).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fieldnotes.planning.day import EPS, service_start

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.planning.day import DayProblem
    from fieldnotes.planning.day_bounds import Bounds

_TICKS = 120  # most of a day; times are rounded down to one, which keeps the bound valid
_ROUNDS = 25
_PATIENCE = 3  # rounds without a better bound before the step is halved

_Move = tuple[int, int, float]  # next stop, its state, cost of going there


class DayWalks:
    """The cheapest walks home from every stop at every tick, under the best prices found.

    A state is tick * size + stop; each keeps its cheapest walk and the cheapest that begins
    with another stop.
    """

    def __init__(self, p: DayProblem, bounds: Bounds) -> None:
        self.p = p
        self._by_finish = p.minimise == "finish"
        self._span = _horizon(p) - p.start
        n, arcs = p.size, bounds.arcs
        legs = ((i, j) for i in range(n) for j in range(1, n) if arcs[i][j])
        steps = [p.travel[i][j] + p.service[j] for i, j in legs]
        self.tick = max(self._span / _TICKS, EPS)
        self.usable = bool(steps) and min(steps) >= self.tick and math.isfinite(self._span)
        self.prices = [0.0] * n
        self.bound = -math.inf
        if self.usable:
            self._arcs = arcs
            self._moves = [self._moves_from(s) for s in range((_TICKS + 1) * n)]
            self._home = [self._home_from(s) for s in range((_TICKS + 1) * n)]
            self._first, self._second, self._next = self._walk(self.prices)

    def _leave(self, state: int) -> float:
        return self.p.start + state // self.p.size * self.tick

    def _moves_from(self, state: int) -> list[_Move]:
        return list(self._open_moves(state % self.p.size, self._leave(state)))

    def _open_moves(self, here: int, leave: float) -> Iterator[_Move]:
        p = self.p
        for stop in range(1, p.size):
            if not self._arcs[here][stop]:
                continue
            start, late = service_start(p.windows[stop], leave + p.travel[here][stop])
            then = start + p.service[stop]
            tick = int((then - p.start) / self.tick + EPS)
            if (late and p.late_cost is None) or tick > _TICKS:
                continue
            cost = p.travel[here][stop]
            if self._by_finish:  # to the tick, from which the rest of the walk counts
                cost = p.start + tick * self.tick - leave
            if late and p.late_cost is not None:
                cost += late * p.late_cost[stop]
            yield stop, tick * p.size + stop, cost

    def _home_from(self, state: int) -> float:
        here, p = state % self.p.size, self.p
        if not here:  # a day at home, if nothing must be done
            return math.inf if any(p.penalty(j) is None for j in range(1, p.size)) else 0.0
        finish = self._leave(state) + p.travel[here][0]
        if not self._arcs[here][0] or (p.overtime_cost is None and finish > p.end + EPS):
            return math.inf
        return p.travel[here][0] + (p.overtime_cost or 0.0) * max(0.0, finish - p.end)

    def _walk(self, prices: list[float]) -> tuple[list[float], list[float], list[int]]:
        """Give of every state the cheapest walk home, the next cheapest, the first one's stop."""
        n, first = self.p.size, self._home[:]
        second, begins = [math.inf] * len(first), [0] * len(first)
        for state in range(len(first) - 1, -1, -1):
            here, moves = state % n, self._moves[state]
            best, other, stop = first[state], math.inf, 0
            for to, then, cost in moves:
                rest = first[then] if begins[then] != here or not here else second[then]
                value = rest + cost - prices[to]
                if value < best:
                    best, other, stop = value, best, to
                elif value < other:
                    other = value
            first[state], second[state], begins[state] = best, other, stop
        return first, second, begins

    def _visits(self) -> list[int]:
        """Count what the cheapest walk of the whole day visits."""
        counts, state, before = [0] * self.p.size, 0, 0
        while True:
            here = state % self.p.size
            stop = self._next[state]
            if before and stop == before:
                stop = self._other(state, before)
            if not stop:
                return counts
            counts[stop] += 1
            before, state = here, next(then for to, then, _ in self._moves[state] if to == stop)

    def _other(self, state: int, before: int) -> int:
        """Give the first stop of the cheapest walk that does not go straight back."""
        here, best, stop = state % self.p.size, self._home[state], 0
        for to, then, cost in self._moves[state]:
            rest = self._first[then] if self._next[then] != here else self._second[then]
            if to != before and rest + cost - self.prices[to] < best:
                best, stop = rest + cost - self.prices[to], to
        return stop

    def sharpen(self, begin: list[float], known: float) -> None:
        """Find prices that bound the day well, from `begin`; `known` is the cost of a plan."""
        limits = (self.p.penalty(j) for j in range(1, self.p.size))
        most = [0.0, *(math.inf if x is None else x for x in limits)]
        prices, step, stale, best = [0.0, *begin[1:]], 1.0, 0, (self.bound, self.prices)
        for _ in range(_ROUNDS):
            prices = [min(a, b) for a, b in zip(prices, most, strict=True)]
            self.prices = prices
            self._first, self._second, self._next = self._walk(prices)
            bound = self._first[0] + sum(prices) + (self.p.start if self._by_finish else 0.0)
            stale = 0 if bound > best[0] + EPS else stale + 1
            best = max(best, (bound, prices))
            step = step / 2 if stale and stale % _PATIENCE == 0 else step
            off = self._off(prices, most)
            length = sum(o * o for o in off)
            if not length or bound >= known - EPS:
                break
            move = step * (known - bound) / length
            prices = [a + move * o for a, o in zip(prices, off, strict=True)]
        self.bound, self.prices = best
        self._first, self._second, self._next = self._walk(self.prices)

    def _off(self, prices: list[float], most: list[float]) -> list[float]:
        """Give which way each price should go: up if its stop is not visited, down if twice."""
        off = [0.0, *(1.0 - count for count in self._visits()[1:])]
        return [0.0 if o > 0 and a >= b else o for o, a, b in zip(off, prices, most, strict=True)]

    def rest(self, stop: int, leave: float, before: int) -> float:
        """Give the least cost of getting home from a stop left then, having come from `before`.

        The prices of the stops still to do are to be added.
        """
        tick = int((leave - self.p.start) / self.tick + EPS)
        if tick > _TICKS:
            return -math.inf
        state = tick * self.p.size + stop
        straight_back = before and self._next[state] == before
        rest = self._second[state] if straight_back else self._first[state]
        return rest - (leave - self._leave(state) if self._by_finish else 0.0)


def _horizon(p: DayProblem) -> float:
    """Give a time by which any day of sense is over."""
    waits = [p.start, *(windows[-1][0] for windows in p.windows)]
    busy = sum(p.service) + sum(max(row) for row in p.travel)
    if p.pause is not None:
        waits.append(p.pause.earliest)
        busy += p.pause.minutes
    longest = max(waits) + busy
    return longest if p.overtime_cost is not None else min(p.end, longest)
