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

_ROUNDS = 15
_NEAR = 0.995  # of the cost of a plan: a bound as near to it cuts as well as any
_PATIENCE = 3  # rounds without a better bound before the step is halved

_Move = tuple[int, int, float]  # next stop, its state, cost of going there
# Stop, last tick to go there, ticks it takes, first tick it is left, drive, price of a tick late.
_Leg = tuple[int, float, int, int, float, float]


class DayWalks:
    """The cheapest walks home from every stop at every tick, under the best prices found.

    A state is a tick, whether the break is still to come, and a stop, as one number; each keeps
    its cheapest walk and the cheapest that begins with another stop, less the stop's own price.
    The day has so many `ticks`; times are rounded down to one, which keeps the bound valid.
    Only the ticks at which a stop can be left on a day that works out are reckoned.
    """

    def __init__(self, p: DayProblem, bounds: Bounds, ticks: int) -> None:
        self.p = p
        self.ticks = ticks
        self._by_finish = p.minimise == "finish"
        self._horizon = _horizon(p)
        span = self._horizon - p.start
        n, arcs = p.size, bounds.arcs
        legs = ((i, j) for i in range(n) for j in range(1, n) if arcs[i][j])
        steps = [p.travel[i][j] + p.service[j] for i, j in legs]
        self.tick = max(span / ticks, EPS)
        self.usable = bool(steps) and min(steps) >= self.tick and math.isfinite(span)
        self.prices = [0.0] * n
        self.bound = -math.inf
        self._width = n if p.pause is None else 2 * n  # states of one tick
        if self.usable:
            self._arcs = arcs
            ways = bounds.leave_to_start[0]
            self._soonest = [
                min(max(p.start + way, windows[0][0]), self._horizon + self.tick)
                for way, windows in zip(ways, p.windows, strict=True)
            ]
            self._legs = [tuple(self._legs_from(i)) for i in range(n)]
            states = [0, *sorted(self._states())]
            # Last first; the base is named -1 so that no walk counts as going straight back to it.
            self._moves = [(s, s % n or -1, self._moves_from(s)) for s in reversed(states)]
            self._home = [math.inf] * ((ticks + 1) * self._width)
            for state in states:
                self._home[state] = self._home_from(state)
            self._first = self._second = self._home
            self._next = [0] * len(self._home)

    def _states(self) -> Iterator[int]:
        """Give the states in which a stop can be left and the day still work out."""
        p = self.p
        for j in range(1, p.size):
            soonest, latest = self._soonest[j] + p.service[j], self._horizon
            if p.late_cost is None:
                served = p.windows[j][-1][1] + p.service[j]
                if p.pause is not None:
                    served = max(served, p.pause.latest) + p.pause.minutes
                latest = min(latest, served + EPS)
            for tick in range(self._tick(soonest), self._tick(latest) + 1):
                yield from range(tick * self._width + j, (tick + 1) * self._width, p.size)

    def _tick(self, time: float) -> int:
        return int((time - self.p.start) / self.tick + EPS)

    def _leave(self, state: int) -> float:
        return self.p.start + state // self._width * self.tick

    def _to_rest(self, state: int) -> bool:
        """Tell whether the break is still to come."""
        return self._width > self.p.size and state % self._width < self.p.size

    def _legs_from(self, here: int) -> Iterator[_Leg]:
        """Give the drives to stops with one window, in whole ticks.

        Adding whole ticks to a moment rounded down to one gives the same as rounding afterwards.
        """
        p = self.p
        for stop in range(1, p.size):
            (_, closes), *others = p.windows[stop]
            if self._arcs[here][stop] and not others:
                drive, serve = p.travel[here][stop], p.service[stop]
                until = (closes - drive - p.start) / self.tick + EPS
                least = self._tick(self._soonest[stop] + serve)
                late = math.inf if p.late_cost is None else p.late_cost[stop] * self.tick
                yield stop, until, int((drive + serve) / self.tick + EPS), least, drive, late

    def _moves_from(self, state: int) -> list[_Move]:
        tick, here = state // self._width, state % self.p.size
        if self._to_rest(state) or len(self._legs[here]) < sum(self._arcs[here][1:]):
            return self._any_moves_from(state)
        width, layer, found = self._width, self._width - self.p.size, []
        for stop, until, step, least, drive, late in self._legs[here]:
            if tick <= until or late < math.inf:
                then = tick + step
                if then < least:  # noqa: PLR1730  (max() would cost a third more time here)
                    then = least
                if then <= self.ticks:
                    # By finish the cost is to the tick, from which the rest of the walk counts.
                    cost = (then - tick) * self.tick if self._by_finish else drive
                    if tick > until:
                        cost += (tick - until) * late
                    found.append((stop, then * width + layer + stop, cost))
        return found

    def _any_moves_from(self, state: int) -> list[_Move]:
        p, here, leave = self.p, state % self.p.size, self._leave(state)
        found = []
        for stop in (j for j in range(1, p.size) if self._arcs[here][j]):
            drive = p.travel[here][stop]
            for ready, layer, rests in self._starts(state, leave + drive):
                then, late = self._left(stop, ready, rests=rests)
                then = max(then, self._soonest[stop] + p.service[stop])
                tick = self._tick(min(then, self._horizon + self.tick))
                if tick <= self.ticks and (not late or p.late_cost is not None):
                    cost = p.start + tick * self.tick - leave if self._by_finish else drive
                    dear = late * p.late_cost[stop] if p.late_cost is not None else 0.0
                    found.append((stop, tick * self._width + layer + stop, cost + dear))
        return found

    def _starts(self, state: int, arrive: float) -> Iterator[tuple[float, int, bool]]:
        """Give (service possible from, states after it, break after it) for each way to rest."""
        pause, rested = self.p.pause, self._width - self.p.size
        if pause is None or not self._to_rest(state):
            yield arrive, rested, False
            return
        yield arrive, 0, False
        yield arrive, rested, True
        begin = max(arrive, pause.earliest)
        if begin <= pause.latest + EPS:
            yield begin + pause.minutes, rested, False

    def _left(self, stop: int, ready: float, *, rests: bool) -> tuple[float, float]:
        """Give (when a stop is left, how late it began); never, if no break fits after it."""
        start, late = service_start(self.p.windows[stop], ready)
        then = start + self.p.service[stop]
        if rests and self.p.pause is not None:
            begin = max(then, self.p.pause.earliest)
            fits = begin <= self.p.pause.latest + EPS
            then = begin + self.p.pause.minutes if fits else math.inf
        return then, late

    def _home_from(self, state: int) -> float:
        here, p = state % self.p.size, self.p
        if not here:  # a day at home, if nothing must be done
            return math.inf if any(p.penalty(j) is None for j in range(1, p.size)) else 0.0
        finish = self._leave(state) + p.travel[here][0]
        too_late = p.overtime_cost is None and finish > p.end + EPS
        if self._to_rest(state) or not self._arcs[here][0] or too_late:
            return math.inf
        return p.travel[here][0] + (p.overtime_cost or 0.0) * max(0.0, finish - p.end)

    def _walk(self, prices: list[float]) -> tuple[list[float], list[float], list[int]]:
        """Give of every state the cheapest walk home, the next cheapest, the first one's stop."""
        first, begins = self._home[:], [0] * len(self._home)
        second = [math.inf] * len(first)
        for state, here, moves in self._moves:
            best, other, stop = first[state], math.inf, 0
            for to, then, cost in moves:
                value = cost + (first[then] if begins[then] != here else second[then])
                if value < other:
                    if value >= best:
                        other = value if to != stop else other
                    else:
                        other = best if to != stop else other
                        best, stop = value, to
            price = prices[here] if here > 0 else 0.0
            first[state], second[state], begins[state] = best - price, other - price, stop
        return first, second, begins

    def _visits(self) -> list[int]:
        """Count what the cheapest walk of the whole day visits."""
        counts, state, before = [0] * self.p.size, 0, 0
        moves = {state: moves for state, _, moves in self._moves}
        while (onward := self._onward(state, before, moves[state])) is not None:
            before, state = state % self.p.size, onward
            counts[state % self.p.size] += 1
        return counts

    def _onward(self, state: int, before: int, moves: list[_Move]) -> int | None:
        """Give the next state of the cheapest walk that does not go straight back, None: home."""
        here, best, found = state % self.p.size, self._home[state], None
        for to, then, cost in moves:
            if to == before:
                continue
            back = here and self._next[then] == here
            value = (self._second if back else self._first)[then] + cost
            if value < best:
                best, found = value, then
        return found

    def sharpen(self, begin: list[float], known: float) -> None:
        """Find prices that bound the day well, from `begin`; `known` is the cost of a plan."""
        limits = (self.p.penalty(j) for j in range(1, self.p.size))
        most = [0.0, *(math.inf if x is None else x for x in limits)]
        prices, step, stale = [0.0, *begin[1:]], 1.0, 0
        best = (self.bound, self.prices, (self._first, self._second, self._next))
        for _ in range(_ROUNDS):
            prices = [min(a, b) for a, b in zip(prices, most, strict=True)]
            self.prices = prices
            self._first, self._second, self._next = self._walk(prices)
            bound = self._first[0] + sum(prices) + (self.p.start if self._by_finish else 0.0)
            stale = 0 if bound > best[0] + EPS else stale + 1
            if not stale:
                best = (bound, prices, (self._first, self._second, self._next))
            step = step / 2 if stale and stale % _PATIENCE == 0 else step
            off = self._off(prices, most)
            length = sum(o * o for o in off)
            if not length or bound >= known * _NEAR:
                break
            move = step * (known - bound) / length
            prices = [a + move * o for a, o in zip(prices, off, strict=True)]
        self.bound, self.prices, (self._first, self._second, self._next) = best

    def _off(self, prices: list[float], most: list[float]) -> list[float]:
        """Give which way each price should go: up if its stop is not visited, down if twice."""
        off = [0.0, *(1.0 - count for count in self._visits()[1:])]
        return [0.0 if o > 0 and a >= b else o for o, a, b in zip(off, prices, most, strict=True)]

    def rest(self, stop: int, leave: float, before: int, *, paused: bool) -> float:
        """Give the least cost of getting home from a stop left then, having come from `before`.

        `paused`: the break is behind. The prices of the stops still to do are to be added.
        """
        tick = self._tick(leave)
        if tick > self.ticks:
            return -math.inf
        layer = self._width - self.p.size if paused else 0
        state = tick * self._width + layer + stop
        straight_back = before and self._next[state] == before
        rest = (self._second if straight_back else self._first)[state] + self.prices[stop]
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
