"""The cheapest walk of every day under prices, all days at once on a clock of ticks (numpy)."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fieldnotes.planning.rounds import RoundsProblem

_TICKS = 120  # of the clock in a day; times are rounded down to it, which keeps the bound valid


class Walks:
    """Walks that may visit a place again, but not straight back (no two-cycles).

    A state (tick, visit) keeps its two cheapest ways in, from different visits: fields are cost,
    the visit before, the tick it was reached at and which of its two ways that was.
    """

    def __init__(self, p: RoundsProblem) -> None:
        import numpy as np  # noqa: PLC0415

        self.np: Any = np
        n = len(p.travel)
        start = p.windows[0][0]
        ends = [min(end, p.windows[0][1]) - start for end in p.day_ends]
        tick = max(*ends, 1e-9) / _TICKS
        self.travel = np.array(p.travel)
        span = np.floor((self.travel + np.array(p.service)[:, None]) / tick + 1e-9).astype(int)
        self.usable = n > 1 and bool((span + np.eye(n, dtype=int))[1:, 1:].min() >= 1)
        self.span = span
        self.opens = np.array([int((w[0] - start) / tick) for w in p.windows])
        self.closes = np.array([math.floor((w[1] - start) / tick + 1e-9) for w in p.windows])
        self.ends = [int(end / tick + 1e-9) for end in ends]
        priced = [[math.inf if x is None else x for x in row] for row in p.penalty]
        self.penalty = np.array(priced).T
        self.penalty[:, 0] = math.inf

    def cheapest(self, prices: Any) -> tuple[float, Any]:  # noqa: ANN401  (numpy is an extra)
        """Give (sum over the days of the cheapest walk's cost, how often each is visited)."""
        np = self.np
        days, n = self.penalty.shape
        fields = np.zeros((4, 2, _TICKS + 1, days, n))
        fields[0] = math.inf
        fields[0, 0, :, :, 0] = 0.0
        drive = self.travel[None] + (self.penalty - prices)[:, None, :]
        drive[:, np.arange(n), np.arange(n)] = math.inf
        for t in range(_TICKS + 1):
            self._reach(fields, t, drive)
        total, visited = 0.0, np.zeros(n)
        for day in range(days):
            total += self._walk_home(fields, day, visited)
        return total, visited

    def _reach(self, fields: Any, t: int, drive: Any) -> None:  # noqa: ANN401
        """Fill the states of one tick: waiting on from the tick before, or arriving now."""
        np = self.np
        before = t - self.span
        then = np.maximum(before, 0)
        rows = np.arange(drive.shape[1])
        shut = (before < 0) | ((t < self.opens) | (t > self.closes))[None, :]
        first = fields[:, 0, then, :, rows[:, None]].transpose(2, 0, 1, 3)  # field, from, to, day
        second = fields[0, 1, then, :, rows[:, None]]
        back = (first[1] == rows[None, :, None]) & (rows[:, None, None] > 0)
        cost = np.where(back, second, first[0]) + drive.transpose(1, 2, 0)
        cost[shut] = math.inf
        options = list(self._waiting(fields, t))
        for _ in range(2):
            came = cost.argmin(axis=0)  # to, day
            to, day = np.ogrid[: cost.shape[1], : cost.shape[2]]
            ways = (cost[came, to, day], came, then[came, to], back[came, to, day])
            options.append(np.array([way.T for way in ways], dtype=float))
            cost[came, to, day] = math.inf
        self._keep_two(fields, t, np.array(options))

    def _waiting(self, fields: Any, t: int) -> Any:  # noqa: ANN401
        """Give the two ways in of the tick before: a start may wait while the window is open."""
        if t == 0:
            return
        for k in (0, 1):
            waited = fields[:, k, t - 1].copy()
            waited[0][:, t > self.closes] = math.inf
            waited[0][:, 0] = math.inf
            yield waited

    def _keep_two(self, fields: Any, t: int, options: Any) -> None:  # noqa: ANN401
        np = self.np
        days, n = options.shape[2:]
        day, to = np.ogrid[:days, :n]
        base = fields[:, :, t, :, 0].copy()
        best = options[:, 0].argmin(axis=0)
        fields[:, 0, t] = options[best, :, day, to].transpose(2, 0, 1)
        same = options[:, 1] == fields[1, 0, t][None]
        others = np.where(same, math.inf, options[:, 0])
        second = others.argmin(axis=0)
        fields[:, 1, t] = options[second, :, day, to].transpose(2, 0, 1)
        fields[0, 1, t] = others[second, day, to]
        fields[:, :, t, :, 0] = base

    def _walk_home(self, fields: Any, day: int, visited: Any) -> float:  # noqa: ANN401
        """Give the cost of a day's cheapest walk (0: stay at home), counting what it visits."""
        best, state = 0.0, (0, 0)
        for j in range(1, self.travel.shape[0]):
            last = min(self.ends[day] - self.span[j, 0], _TICKS)
            if last < 0:
                continue
            costs = fields[0, 0, : last + 1, day, j]
            t = int(costs.argmin())
            if costs[t] + self.travel[j, 0] < best - 1e-9:
                best, state = float(costs[t] + self.travel[j, 0]), (t, j)
        (t, j), k = state, 0
        while j:
            visited[j] += 1
            _, came, at, way = fields[:, k, t, day, j]
            t, j, k = int(at), int(came), int(way)
        return best
