"""The proven least cost of many days: every day that could matter, then a set partitioning.

Column generation over days that visit nothing twice gives prices and a bound; then every day whose
reduced cost fits under a gap is enumerated, and the choice among them solved by HiGHS. Its optimum
is proven once it lies within that gap of the bound (Baldacci, Christofides, Mingozzi, Math.
Program. 115, 2008). Shares no code with the solver and its bound.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csc_array, hstack, vstack

_TICKS = 600  # of the clock a walk home is bounded on; times are rounded down to it
_BEAM = 4_000  # labels a layer while days that pay are easy to find
_TAKEN = 60  # days taken into the master at once
_EPS = 1e-6
_FAR = 1e9


@dataclass
class Labels:
    """Begun days as arrays: visits as bits, last two places, time left, cost, reduced cost."""

    served: np.ndarray
    last: np.ndarray
    before: np.ndarray
    time: np.ndarray
    cost: np.ndarray
    reduced: np.ndarray

    def at(self, rows):
        return Labels(*(field[rows] for field in vars(self).values()))


def _joined(parts):
    columns = zip(*(vars(part).values() for part in parts), strict=True)
    return Labels(*(np.concatenate(column) for column in columns))


class Day:
    """The ways to spend one day, under prices of visits."""

    def __init__(self, p, day):
        assert (p.most_visits, p.most_service) == (None, None)
        self.rows = np.array([j for j in p.visits if p.penalty[j][day] is not None], int)
        self.places = np.array([0, *self.rows])
        self.drive = np.array(p.travel)[np.ix_(self.places, self.places)]
        self.serve = np.array(p.service)[self.places]
        self.opens, self.closes = np.array(p.windows)[self.places].T
        self.late = np.array([0.0, *(p.penalty[j][day] for j in self.rows)])
        self.start, self.end = p.windows[0][0], min(p.day_ends[day], p.windows[0][1])
        self.tick = (self.end - self.start) / _TICKS
        assert all(self.serve[1:] >= self.tick)

    def ways(self, prices, limit, beam=None):
        """Give (visits as bits, cost, reduced cost) of days under a reduced cost, each set once."""
        arcs = self.drive + self.late - np.array([0.0, *prices[self.rows - 1]])
        self._bound(arcs)
        labels = Labels(*np.zeros((3, 1), int), np.full(1, self.start), *np.zeros((2, 1)))
        found = [np.zeros((3, 0))]
        while labels.served.size and self.rows.size:
            onward = [self._onward(labels, k, arcs, limit) for k in range(1, self.places.size)]
            labels = _undominated(_joined(onward))
            if beam is not None and labels.served.size > beam:
                rank = labels.reduced + self._rest(labels)
                labels = labels.at(np.argpartition(rank, beam)[:beam])
            home = self.drive[labels.last, 0]
            ok = (labels.time + home <= self.end + _EPS) & (labels.reduced + home < limit)
            # Bits of up to 52 visits are whole numbers in a float too.
            found.append(
                np.array((labels.served, labels.cost + home, labels.reduced + home))[:, ok]
            )
        served, cost, reduced = np.concatenate(found, axis=1)
        order = np.lexsort((cost, served))
        order = order[np.diff(served[order], prepend=-1) != 0]
        return served[order].astype(int), cost[order], reduced[order]

    def _onward(self, old, k, arcs, limit):
        start = np.maximum(old.time + self.drive[old.last, k], self.opens[k])
        rows = np.flatnonzero((old.served >> k & 1 == 0) & (start <= self.closes[k] + _EPS))
        last = old.last[rows]
        new = Labels(
            old.served[rows] | 1 << k,
            np.full(rows.size, k),
            last,
            start[rows] + self.serve[k],
            old.cost[rows] + self.drive[last, k] + self.late[k],
            old.reduced[rows] + arcs[last, k],
        )
        return new.at(new.reduced + self._rest(new) < limit)

    def _tick(self, time):
        return np.minimum((time - self.start) / self.tick + _EPS, _TICKS + 1).astype(int)

    def _rest(self, labels):
        """Give the least reduced cost of getting home by walks that never go straight back."""
        tick, last = self._tick(labels.time), labels.last
        back = (self.begins[tick, last] == labels.before) & (labels.before > 0)
        return np.where(back, self.second[tick, last], self.first[tick, last])

    def _bound(self, arcs):
        n = self.places.size
        self.first = np.full((_TICKS + 2, n), np.inf)
        self.second, self.begins = self.first.copy(), np.zeros((_TICKS + 2, n), int)
        here, to = np.arange(n)[:, None], np.arange(n)[None, 1:]
        for t in range(_TICKS, -1, -1):
            now = self.start + t * self.tick
            start = np.maximum(now + self.drive[:, 1:], self.opens[1:])
            tick = self._tick(start + self.serve[1:])
            back = self.begins[tick, to] == here
            onward = np.where(back, self.second[tick, to], self.first[tick, to]) + arcs[:, 1:]
            onward[(start > self.closes[1:] + _EPS) | (here == to)] = np.inf
            home = np.where(now + self.drive[:, 0] <= self.end + _EPS, self.drive[:, 0], np.inf)
            ways = np.column_stack((home, onward))
            self.begins[t] = ways.argmin(axis=1)
            self.first[t] = ways.min(axis=1)
            ways[here[:, 0], self.begins[t]] = np.inf
            self.second[t] = ways.min(axis=1)


def _undominated(labels):
    """Keep, of labels that served the same and stand at the same place, the earlier or cheaper."""
    key = labels.served * 64 + labels.last
    order = np.lexsort((labels.time, labels.cost, key))
    group = np.cumsum(np.diff(key[order], prepend=-1) != 0)
    clock = labels.time[order] - group * _FAR  # every group begins below all before it
    least = np.minimum.accumulate(np.concatenate(([np.inf], clock)))[:-1]
    return labels.at(order[clock < least])


class Master:
    """The days known so far, and what visits and days are worth by them."""

    def __init__(self, p, days):
        self.days, self.visits = days, len(p.visits)
        alone = np.eye(self.visits + len(days), self.visits)
        self.columns, self.costs = csc_array(alone), np.full(self.visits, p.unplaced_price)

    def add(self, day, served, cost):
        rows = self.days[day].rows
        held = np.zeros((self.visits + len(self.days), served.size))
        held[rows - 1] = served >> np.arange(1, rows.size + 1)[:, None] & 1
        held[self.visits + day] = 1
        self.columns = hstack([self.columns, csc_array(held)], format="csc")
        self.costs = np.concatenate([self.costs, cost])

    def prices(self):
        """Give what each visit (had once or more) and each day (used once at most) is worth."""
        matrix = vstack([-self.columns[: self.visits], self.columns[self.visits :]])
        limits = np.repeat([-1.0, 1.0], [self.visits, len(self.days)])
        duals = linprog(self.costs, A_ub=matrix, b_ub=limits).ineqlin.marginals
        return -duals[: self.visits], duals[self.visits :]

    def least_cost(self):
        """Give the least cost of whole days that serve each visit once or leave it unplaced."""
        least = np.repeat([1.0, 0.0], [self.visits, len(self.days)])
        once = LinearConstraint(self.columns, least, np.ones(least.size))
        whole, gap = np.ones(self.costs.size), {"mip_rel_gap": 0.0}
        found = milp(
            self.costs, constraints=once, integrality=whole, bounds=Bounds(0, 1), options=gap
        )
        assert found.status == 0, found.message
        return found.fun


def _priced(p, days):
    """Give prices of visits under which no day pays more than it is worth."""
    master, beam = Master(p, days), _BEAM
    prices, owed = np.full(len(p.visits), np.mean(p.travel)), np.zeros(len(days))
    while True:
        paid = False
        for d, day in enumerate(days):
            served, costs, reduced = day.ways(prices, owed[d] - 1e-4, beam)
            best = np.argsort(reduced, kind="stable")[:_TAKEN]
            master.add(d, served[best], costs[best])
            paid = paid or served.size > 0
        if not paid and beam is None:
            return prices
        beam = beam if paid else None
        prices, owed = master.prices()


def proven_cost(p):
    """Give (proven least cost of a fortnight with unplaced visits at their price, its LP bound)."""
    days = [Day(p, d) for d in p.days]
    prices = _priced(p, days)
    least = [min(0.0, day.ways(prices, 0.0)[2].min(initial=0.0)) for day in days]
    bound = prices.sum() + sum(least)
    gap = 0.005 * bound
    while True:
        master = Master(p, days)
        for d, day in enumerate(days):
            served, cost, _ = day.ways(prices, least[d] + gap + _EPS)
            master.add(d, served, cost)
        found = master.least_cost()
        if found <= bound + gap:
            return found, bound
        gap = min(2 * gap, found - bound)
