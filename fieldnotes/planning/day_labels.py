"""Forward labelling of one day: every partial route worth keeping, stop by stop.

A label is a partial route. Labels that served the same stops, stand at the same stop and agree
on whether the pause is taken compete: one that is neither earlier nor cheaper goes. A label
whose lower bound reaches the best plan known goes as well. Both cuts are safe, so the best plan
left at the end is proven best, unless a layer grew over the beam and had to be thinned.
(Restricted dynamic programming: Malandraki and Dial, Eur. J. Oper. Res. 90, 1996.)
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from heapq import nsmallest
from itertools import count
from typing import TYPE_CHECKING, Union

from fieldnotes.planning.day import EPS, DayProblem, Sequence, service_start

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.planning.day_bounds import Bounds
    from fieldnotes.planning.day_walks import DayWalks

_CLOCK_WEIGHT = 0.3  # of time against cost when a layer is thinned; found by trial
NO_PAUSE, BEFORE, AFTER = 0, 1, 2

# (time the stop is left, cost, running number, parent, stop, pause here). A plain tuple because
# hundreds of thousands are made; the number keeps ties in the order of making.
Label = tuple[float, float, int, Union["Label", None], int, int]
_State = tuple[int, int, bool]  # stops served as bits, stop stood at, pause taken


@dataclass(slots=True)
class _Group:
    """Labels of one state; `latest`: leaving later strands a stop that must be served.

    `rests`: the least cost still to come, by each set of prices; `owed`: what the walks are paid
    for the stops still to do, less their penalties.
    """

    latest: float
    rests: tuple[float, ...]
    paused: bool
    owed: float = 0.0
    labels: list[Label] = field(default_factory=list)


_Layer = dict[_State, _Group]


class DaySearch:
    """One search over one day; `best` is the last label of the best plan it found."""

    def __init__(
        self,
        problem: DayProblem,
        bounds: Bounds,
        known_best: float = math.inf,
        walks: DayWalks | None = None,
    ) -> None:
        self.p = problem
        self.best_cost = known_best
        self.best: Label | None = None
        self.cut = False
        n = problem.size
        self._prices = bounds.prices
        self._arcs = bounds.arcs
        self._by_finish = problem.minimise == "finish"
        self._numbers = count(1)
        self._penalty = tuple(problem.penalty(j) or 0.0 for j in range(n))
        self._walks = walks
        prices = walks.prices if walks else self._penalty
        self._owed = tuple(a - b for a, b in zip(prices, self._penalty, strict=True))
        self._must = sum(1 << j for j in range(1, n) if problem.penalty(j) is None)
        self._hard = problem.late_cost is None
        self._end = problem.end if problem.overtime_cost is None else math.inf
        resting = problem.pause.minutes if problem.pause else 0.0
        self._pause_costs = tuple(
            (price.per_time + (1.0 if self._by_finish else 0.0)) * resting
            for price in bounds.prices
        )
        self._next = tuple(tuple(j for j in range(1, n) if bounds.arcs[i][j]) for i in range(n))
        self._deadlines = tuple(self._deadlines_from(bounds, i) for i in range(n))

    def _deadlines_from(self, bounds: Bounds, here: int) -> tuple[tuple[float, int], ...]:
        """Give, soonest first, when `here` must be left for each stop that must be served."""
        ways = bounds.leave_to_start[here]
        rows = [
            (self.p.windows[k][-1][1] - ways[k], 1 << k)
            for k in range(1, self.p.size)
            if self._hard and self._must >> k & 1
        ]
        return (*sorted(rows), (math.inf, ~0))

    def run(self, beam: int) -> None:
        """Search the whole day, keeping at most `beam` labels per number of stops served."""
        begin = self.p.start if self._by_finish else 0.0
        root: Label = (self.p.start, begin + sum(self._penalty), 0, None, 0, NO_PAUSE)
        if not self._must:
            self._offer(root, root[1])
        group = _Group(math.inf, tuple(self._root_rests()), self.p.pause is None)
        group.owed, group.labels = sum(self._owed), [root]
        layer: _Layer = {(0, 0, self.p.pause is None): group}
        while layer:
            layer = self._step(layer)
            self._thin(layer, beam)

    def _root_rests(self) -> Iterator[float]:
        """Give the cost to come at the root; penalties are already in the cost of a label."""
        for price, resting in zip(self._prices, self._pause_costs, strict=True):
            rest = sum(price.out) + sum(price.into) - sum(self._penalty)
            spare = price.per_time * self.p.end if price.per_time else 0.0
            yield rest - spare + resting

    def _step(self, layer: _Layer) -> _Layer:
        following: _Layer = {}
        for state, group in layer.items():
            for stop in self._next[state[1]]:
                if not state[0] >> stop & 1:
                    self._extend(group, state, stop, following)
        for state in list(following):
            kept = self._efficient(state, following[state])
            if kept:
                self._finish(state, kept)
            else:
                del following[state]
        return following

    def _efficient(self, state: _State, group: _Group) -> list[Label]:
        """Keep the labels that are earlier or cheaper than every other, earliest first."""
        kept: list[Label] = []
        cheapest = math.inf
        caps = self._caps(group)
        group.labels.sort()
        for label in group.labels:
            if label[1] < cheapest and all(label[1] + per * label[0] < cap for per, cap in caps):
                kept.append(label)
                cheapest = label[1] - EPS
        if self._walks is not None:
            most = self.best_cost - EPS
            kept = [label for label in kept if self._at_least(state, label, group) < most]
        group.labels = kept
        return kept

    def _at_least(self, state: _State, label: Label, group: _Group) -> float:
        """Give what the walks say a day begun like this costs at least."""
        if self._walks is None or label[3] is None:
            return -math.inf
        rest = self._walks.rest(state[1], label[0], label[3][4], paused=state[2])
        return label[1] + group.owed + rest

    def _promise(self, state: _State, label: Label, group: _Group) -> float:
        """Give the rank of a label where not all can be kept, lowest best."""
        bound = self._at_least(state, label, group)
        if bound > -math.inf:
            return bound
        return label[1] + group.rests[0] + _CLOCK_WEIGHT * label[0]

    def _caps(self, group: _Group) -> tuple[tuple[float, float], ...]:
        """Give (price of time, most a label may cost and still lead to a better plan)."""
        return tuple(
            (price.per_time, self.best_cost - rest - EPS)
            for price, rest in zip(self._prices, group.rests, strict=True)
        )

    def _finish(self, state: _State, labels: list[Label]) -> None:
        served, here, paused = state
        if self._must & ~served or not paused or not self._arcs[here][0]:
            return
        home, overtime = self.p.travel[here][0], self.p.overtime_cost or 0.0
        for label in labels:
            finish = label[0] + home
            if finish <= self._end + EPS:
                self._offer(label, label[1] + home + overtime * max(0.0, finish - self.p.end))

    def _offer(self, label: Label, cost: float) -> None:
        if cost < self.best_cost - EPS:
            self.best, self.best_cost = label, cost

    def _extend(self, group: _Group, state: _State, stop: int, following: _Layer) -> None:
        served, here, paused = state
        drive = self.p.travel[here][stop]
        windows = self.p.windows[stop]
        if self._hard and group.labels[0][0] + drive > windows[-1][1] + EPS:
            return
        then = served | 1 << stop
        target = self._group(following, (then, stop, paused), group, here)
        if self._hard and len(windows) == 1:
            self._drive_on(group, target, stop, drive)
        else:
            for label in group.labels:
                self._add(target, label, stop, label[0] + drive, drive=drive, pause=NO_PAUSE)
        if not paused and self.p.pause is not None:
            rested = self._group(following, (then, stop, True), group, here)
            self._rest_there(group, rested, stop, drive)

    def _drive_on(self, group: _Group, target: _Group, stop: int, drive: float) -> None:
        """Extend by a stop with one hard window: the loop nearly all the time is spent in."""
        (opens, closes), serve = self.p.windows[stop][0], self.p.service[stop]
        closes = min(closes + EPS, target.latest - serve)
        caps = self._caps(target)
        (_, cap), (per_time, cap_by_time) = caps[0], caps[-1]
        saved, add = self._penalty[stop], target.labels.append
        for label in group.labels:  # earliest first
            start = label[0] + drive
            if start < opens:  # noqa: PLR1730  (max() would cost a third more time here)
                start = opens
            if start > closes:
                break
            leave = start + serve
            cost = label[1] + (leave - label[0] if self._by_finish else drive) - saved
            if cost < cap and cost + per_time * leave < cap_by_time:
                add((leave, cost, next(self._numbers), label, stop, NO_PAUSE))

    def _rest_there(self, group: _Group, target: _Group, stop: int, drive: float) -> None:
        if self.p.pause is None:
            return
        for label in group.labels:
            arrive = label[0] + drive
            begin = max(arrive, self.p.pause.earliest)
            if begin <= self.p.pause.latest + EPS:
                rested = begin + self.p.pause.minutes
                self._add(target, label, stop, rested, drive=drive, pause=BEFORE)
                self._add(target, label, stop, arrive, drive=drive, pause=AFTER)

    def _add(
        self, target: _Group, label: Label, stop: int, ready: float, *, drive: float, pause: int
    ) -> None:
        start, late = service_start(self.p.windows[stop], ready)
        if late and self._hard:
            return
        leave = start + self.p.service[stop]
        if pause == AFTER and self.p.pause is not None:
            begin = max(leave, self.p.pause.earliest)
            if begin > self.p.pause.latest + EPS:
                return
            leave = begin + self.p.pause.minutes
        step = leave - label[0] if self._by_finish else drive
        cost = label[1] + step - self._penalty[stop]
        if late and self.p.late_cost is not None:
            cost += late * self.p.late_cost[stop]
        if leave <= target.latest:
            target.labels.append((leave, cost, next(self._numbers), label, stop, pause))

    def _group(self, following: _Layer, state: _State, before: _Group, here: int) -> _Group:
        """Give the group of a state, its bounds reckoned from the group it is reached from."""
        group = following.get(state)
        if group is None:
            served, stop, paused = state
            latest = next(t for t, bit in self._deadlines[stop] if bit < 0 or not served & bit)
            rests = tuple(
                rest - price.out[here] - price.into[stop] + self._penalty[stop]
                for price, rest in zip(self._prices, before.rests, strict=True)
            )
            if paused and not before.paused:
                rests = tuple(r - c for r, c in zip(rests, self._pause_costs, strict=True))
            latest = min(latest, self._end - self.p.travel[stop][0])
            owed = before.owed - self._owed[stop]
            group = following[state] = _Group(latest + EPS, rests, paused, owed)
        return group

    def _thin(self, layer: _Layer, beam: int) -> None:
        if sum(len(group.labels) for group in layer.values()) <= beam:
            return
        self.cut = True
        ranked = (
            (self._promise(state, label, group), label[2], label, state)
            for state, group in layer.items()
            for label in group.labels
        )
        kept = nsmallest(beam, ranked, key=lambda entry: entry[:2])
        for group in layer.values():
            group.labels = []
        for _, _, label, state in sorted(kept, key=lambda entry: entry[2][:3]):
            layer[state].labels.append(label)
        for state in [s for s, group in layer.items() if not group.labels]:
            del layer[state]


def _back(label: Label | None) -> Iterator[Label]:
    while label is not None and label[3] is not None:
        yield label
        label = label[3]


def sequence_of(label: Label) -> Sequence:
    """Give the order of stops, and where the pause stands, that lead to a label."""
    steps = tuple(_back(label))[::-1]
    pause = next((i for i, step in enumerate(steps) if step[5] != NO_PAUSE), None)
    before = pause is not None and steps[pause][5] == BEFORE
    return Sequence(tuple(step[4] for step in steps), pause, before)
