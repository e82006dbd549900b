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

from fieldnotes.planning.day import EPS, DayPlan, DayProblem, Sequence, service_start

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.planning.day_bounds import Bounds

_CLOCK_WEIGHT = 0.3  # of time against cost when a layer is thinned; found by trial
NO_PAUSE, BEFORE, AFTER = 0, 1, 2

# (time the stop is left, cost, running number, parent, stop, pause here). A plain tuple because
# hundreds of thousands are made; the number keeps ties in the order of making.
_Label = tuple[float, float, int, Union["_Label", None], int, int]
_State = tuple[int, int, bool]  # stops served as bits, stop stood at, pause taken


@dataclass(slots=True)
class _Group:
    """Labels of one state, and what bounds them.

    `rests` is the least cost still to come by each set of prices; `latest` the time after
    which leaving strands a stop that must be served.
    """

    latest: float
    rests: tuple[float, ...]
    labels: list[_Label] = field(default_factory=list)


_Layer = dict[_State, _Group]


class DaySearch:
    """One search over one day; `best` is the best complete plan's last label."""

    def __init__(self, problem: DayProblem, bounds: Bounds, known_best: float = math.inf) -> None:
        self.p = problem
        self.best_cost = known_best
        self.best: _Label | None = None
        self.cut = False
        n = problem.size
        self._bounds = bounds
        self._by_finish = problem.minimise == "finish"
        self._numbers = count(1)
        self._penalty = tuple(problem.penalty(j) or 0.0 for j in range(n))
        self._must = sum(1 << j for j in range(1, n) if problem.penalty(j) is None)
        self._hard = problem.late_cost is None
        self._end = problem.end if problem.overtime_cost is None else math.inf
        # What leaving a stop for later costs at least, less its penalty (already in the cost).
        self._price = tuple(
            u + v - penalty
            for u, v, penalty in zip(bounds.out, bounds.into, self._penalty, strict=True)
        )
        self._next = tuple(tuple(j for j in range(1, n) if bounds.arcs[i][j]) for i in range(n))

    def run(self, beam: int) -> None:
        """Search the whole day, keeping at most `beam` labels per number of stops served."""
        begin = self.p.start if self._by_finish else 0.0
        root: _Label = (self.p.start, begin + sum(self._penalty), 0, None, 0, NO_PAUSE)
        if not self._must:
            self._offer(root, root[1])
        group = _Group(math.inf, 0.0, math.inf, [root])
        layer: _Layer = {(0, 0, self.p.pause is None): group}
        while layer:
            layer = self._step(layer)
            self._thin(layer, beam)

    def _step(self, layer: _Layer) -> _Layer:
        following: _Layer = {}
        for state, group in layer.items():
            served, here, _ = state
            for stop in self._next[here]:
                if not served >> stop & 1:
                    self._extend(group, state, stop, following)
        for state in list(following):
            kept = self._efficient(following[state])
            if kept:
                self._finish(state, kept)
            else:
                del following[state]
        return following

    def _efficient(self, group: _Group) -> list[_Label]:
        """Keep the labels that are earlier or cheaper than every other, earliest first."""
        kept: list[_Label] = []
        cheapest = min(group.cap, self.best_cost - group.rest - EPS)
        group.labels.sort()
        for label in group.labels:
            if label[1] < cheapest:
                kept.append(label)
                cheapest = label[1] - EPS
        group.labels = kept
        return kept

    def _finish(self, state: _State, labels: list[_Label]) -> None:
        served, here, paused = state
        if self._must & ~served or not paused or not self._bounds.arcs[here][0]:
            return
        home, overtime = self.p.travel[here][0], self.p.overtime_cost or 0.0
        for label in labels:
            finish = label[0] + home
            if finish <= self._end + EPS:
                self._offer(label, label[1] + home + overtime * max(0.0, finish - self.p.end))

    def _offer(self, label: _Label, cost: float) -> None:
        if cost < self.best_cost - EPS:
            self.best, self.best_cost = label, cost

    def _extend(self, group: _Group, state: _State, stop: int, following: _Layer) -> None:
        served, here, paused = state
        drive = self.p.travel[here][stop]
        then = served | 1 << stop
        self._drive_on(group, self._group(following, (then, stop, paused)), stop, drive)
        if not paused:
            self._rest_there(group, self._group(following, (then, stop, True)), stop, drive)

    def _drive_on(self, group: _Group, target: _Group, stop: int, drive: float) -> None:
        windows = self.p.windows[stop]
        if not self._hard or len(windows) > 1:
            for label in group.labels:
                self._add(target, label, stop, label[0] + drive, drive, NO_PAUSE)
            return
        (opens, closes), served = windows[0], self.p.service[stop]
        closes = min(closes + EPS, target.latest - served)
        saved, cap, add = self._penalty[stop], target.cap, target.labels.append
        for label in group.labels:  # earliest first
            start = label[0] + drive
            if start < opens:
                start = opens
            if start > closes:
                break
            leave = start + served
            cost = label[1] + (leave - label[0] if self._by_finish else drive) - saved
            if cost < cap:
                add((leave, cost, next(self._numbers), label, stop, NO_PAUSE))

    def _rest_there(self, group: _Group, target: _Group, stop: int, drive: float) -> None:
        pause = self.p.pause
        if pause is None:
            return
        for label in group.labels:
            arrive = label[0] + drive
            begin = max(arrive, pause.earliest)
            if begin <= pause.latest + EPS:
                self._add(target, label, stop, begin + pause.minutes, drive, BEFORE)
                self._add(target, label, stop, arrive, drive, AFTER)

    def _add(
        self, target: _Group, label: _Label, stop: int, ready: float, drive: float, pause: int
    ) -> None:
        start, late = service_start(self.p.windows[stop], ready)
        if late and self.p.late_cost is None:
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
        if leave <= target.latest and cost < target.cap:
            target.labels.append((leave, cost, next(self._numbers), label, stop, pause))

    def _group(self, following: _Layer, state: _State) -> _Group:
        group = following.get(state)
        if group is None:
            group = following[state] = self._bounded(state[0], state[1])
        return group

    def _bounded(self, served: int, here: int) -> _Group:
        ways = self._bounds.leave_to_start[here]
        latest = self._end - ways[0]
        rest = self._bounds.out[here] + self._bounds.into[0]
        for k in range(1, self.p.size):
            if served >> k & 1:
                continue
            rest += self._price[k]
            if self._hard and self._must >> k & 1:
                latest = min(latest, self.p.windows[k][-1][1] - ways[k])
        return _Group(latest + EPS, rest, self.best_cost - rest - EPS)

    def _thin(self, layer: _Layer, beam: int) -> None:
        total = sum(len(group.labels) for group in layer.values())
        if total <= beam:
            return
        self.cut = True
        ranked = (
            (label[1] + group.rest + _CLOCK_WEIGHT * label[0], label[2], label, group)
            for group in layer.values()
            for label in group.labels
        )
        kept = nsmallest(beam, ranked, key=lambda entry: entry[:2])
        for group in layer.values():
            group.labels = []
        for _, _, label, group in sorted(kept, key=lambda entry: entry[2][0]):
            group.labels.append(label)
        for state in [s for s, group in layer.items() if not group.labels]:
            del layer[state]


def _back(label: _Label | None) -> Iterator[_Label]:
    while label is not None and label[3] is not None:
        yield label
        label = label[3]


def sequence_of(label: _Label) -> Sequence:
    """Give the order of stops, and where the pause stands, that lead to a label."""
    steps = tuple(_back(label))[::-1]
    pause = next((i for i, step in enumerate(steps) if step[5] != NO_PAUSE), None)
    before = pause is not None and steps[pause][5] == BEFORE
    return Sequence(tuple(step[4] for step in steps), pause, before)
