"""The clock of a fixed order: when each stop is reached, begun and left; how late to set off."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.planning.day import EPS, service_start

if TYPE_CHECKING:
    from fieldnotes.planning.day import DayProblem, Sequence


@dataclass(frozen=True)
class Stay:
    """One stop on the clock; `slack` is how much later its service could begin in its window."""

    stop: int
    arrive: float
    start: float
    leave: float
    late: float
    slack: float
    pause: tuple[float, float] | None = None


@dataclass(frozen=True)
class Timetable:
    """A day on the clock: when the base is left, each stay, when the base is reached again."""

    depart: float
    stays: tuple[Stay, ...]
    finish: float


def timetable(p: DayProblem, sequence: Sequence, *, at_once: bool = False) -> Timetable:
    """Give the clock of an order, leaving the base as late as costs nothing, or at once."""
    earliest = _clock(p, sequence, p.start)
    if at_once or not earliest.stays:
        return earliest
    low, high = 0.0, earliest.finish - p.start
    while high - low > EPS:
        mid = (low + high) / 2
        if _no_worse(_clock(p, sequence, p.start + mid), earliest):
            low = mid
        else:
            high = mid
    whole = float(round(low))
    delay = whole if abs(whole - low) < 10 * EPS else low
    return _clock(p, sequence, p.start + delay) if delay > EPS else earliest


def _no_worse(later: Timetable, earliest: Timetable) -> bool:
    kept = all(
        a.late <= b.late + EPS and not math.isinf(a.start)
        for a, b in zip(later.stays, earliest.stays, strict=True)
    )
    return kept and later.finish <= earliest.finish + EPS


def _clock(p: DayProblem, sequence: Sequence, depart: float) -> Timetable:
    time, here, stays = depart, 0, []
    for place, stop in enumerate(sequence.order):
        time += p.travel[here][stop]
        resting = sequence.pause_at == place
        stay = _stay(p, stop, time, resting=resting, before=sequence.pause_before)
        stays.append(stay)
        time, here = stay.leave, stop
    return Timetable(depart, tuple(stays), time + (p.travel[here][0] if here else 0.0))


def _stay(p: DayProblem, stop: int, arrive: float, *, resting: bool, before: bool) -> Stay:
    ready, pause = arrive, None
    if p.pause is not None and resting and before:
        pause = _pause_from(p, arrive)
        ready = pause[1]
    start, late = service_start(p.windows[stop], ready)
    leave = start + p.service[stop]
    if p.pause is not None and resting and not before:
        pause = _pause_from(p, leave)
        leave = pause[1]
    return Stay(stop, arrive, start, leave, late, max(0.0, p.windows[stop][-1][1] - start), pause)


def _pause_from(p: DayProblem, ready: float) -> tuple[float, float]:
    assert p.pause is not None  # noqa: S101  (only called where the day has a pause)
    begin = max(ready, p.pause.earliest)
    if begin > p.pause.latest + EPS:
        return math.inf, math.inf
    return begin, begin + p.pause.minutes
