"""One day over a travel table: which stops, in which order, with what finish; exact where it can.

All numbers are in one unit, whichever it is; row 0 is the base.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

Window = tuple[float, float]
Minimise = Literal["travel", "finish"]
EPS = 1e-7  # two times closer than this are the same time


@dataclass(frozen=True)
class Pause:
    """A break of `minutes` at a stop, before or after its service; starts within its bounds."""

    earliest: float
    latest: float
    minutes: float


@dataclass(frozen=True)
class DayProblem:
    """What a day must obey.

    `windows` bound the start of service (each stop one or more, in order), those of row 0
    departure and return. `skip` prices leaving a stop out (None: it must be served), `last`
    holds the stops that come after all others, `first` and `final` are locked places.
    `late_cost` makes windows soft: price per unit late, by stop (None: they are hard);
    `overtime_cost` likewise softens the end of the day.
    """

    travel: tuple[tuple[float, ...], ...]
    service: tuple[float, ...]
    windows: tuple[tuple[Window, ...], ...]
    day_end: float = math.inf
    minimise: Minimise = "travel"
    skip: tuple[float | None, ...] = ()
    last: tuple[int, ...] = ()
    pause: Pause | None = None
    first: int | None = None
    final: int | None = None
    late_cost: tuple[float, ...] | None = None
    overtime_cost: float | None = None

    @property
    def size(self) -> int:
        """Give the number of rows, base included."""
        return len(self.travel)

    @property
    def start(self) -> float:
        """Give when the base can first be left."""
        return self.windows[0][0][0] + self.service[0]

    @property
    def end(self) -> float:
        """Give when the base must be reached again."""
        return min(self.day_end, self.windows[0][-1][1])

    def penalty(self, stop: int) -> float | None:
        """Give the price of skipping a stop, None if it must be served (a locked one must)."""
        if not self.skip or stop in (self.first, self.final):
            return None
        return self.skip[stop]


@dataclass(frozen=True)
class Sequence:
    """An order of stops with the places of the pause: (index in order, before its service)."""

    order: tuple[int, ...]
    pause_at: int | None = None
    pause_before: bool = False


@dataclass(frozen=True)
class DayPlan:
    """The best plan found; `optimal` is True only when nothing was cut on the way to it.

    `cost` is what was minimised: travel (or finish) plus penalties plus prices of lateness.
    """

    sequence: Sequence
    travel: float
    finish: float
    penalties: float
    cost: float
    optimal: bool
    skipped: tuple[int, ...] = field(default=())


def service_start(windows: tuple[Window, ...], ready: float) -> tuple[float, float]:
    """Give (start, minutes late) of a service that could begin at `ready`."""
    for opens, closes in windows:
        if ready <= closes + EPS:
            return max(ready, opens), 0.0
    return ready, ready - windows[-1][1]
