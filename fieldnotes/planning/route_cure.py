"""An impossible day in words: the smallest set of stops that cannot be met, and what cures it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.planning.day_bounds import least_over
from fieldnotes.planning.day_solver import MOST_CHOSEN_FROM, plan_day
from fieldnotes.planning.day_times import timetable
from fieldnotes.planning.day_why import conflict, only

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.planning.day import DayProblem
    from fieldnotes.planning.route_clock import RouteClock
    from fieldnotes.planning.route_day import Stop

_BEAM = 2_000
_LEAST_CURE_MIN = 5  # minutes are offered in steps of this


def said(day: RouteClock, p: DayProblem) -> str:
    """Name the stops that cannot be met together and what would cure it."""
    over = least_over(p)
    if p.size - 1 > MOST_CHOSEN_FROM:  # which few of so many are the cause takes too long to find
        more = f": together they take {over:.0f} min more than the day has" if over > 0 else ""
        return f"not all can be on time{more}"
    found = conflict(p)
    if not found.stops:
        return f"not all can be on time: {found.why}; {found.cure}"
    stops = [day.stops[j - 1] for j in found.stops]
    names = " and ".join(_called(s) for s in stops)
    cures = [*_arrivals(day, p, found.stops), *_moves(day, stops)]
    proof = "" if found.proven else " (not proven)"
    return f"cannot be on time{' together' if len(stops) > 1 else ''}: {names}{proof}; " + (
        "; or ".join(cures) or found.cure
    )


def _called(stop: Stop) -> str:
    return stop.name or stop.id


def _arrivals(day: RouteClock, p: DayProblem, stops: tuple[int, ...]) -> tuple[str, ...]:
    """Give the least lateness at one of the stops that lets all be served, as a cure."""
    part, rows = only(p, stops), sorted(stops)
    late = ((_late_alone(part, k), rows[k - 1]) for k in range(1, part.size))
    least, row = min(late, default=(math.inf, 0))
    if math.isinf(least):
        return ()
    minutes = max(_LEAST_CURE_MIN, math.ceil(least / _LEAST_CURE_MIN) * _LEAST_CURE_MIN)
    return (f"arrive {minutes} min later at {_called(day.stops[row - 1])}",)


def _late_alone(part: DayProblem, stop: int) -> float:
    """Give how late a stop must be if all others of the set are on time."""
    opened = ((part.windows[stop][0][0], math.inf),)
    windows = tuple(opened if j == stop else w for j, w in enumerate(part.windows))
    plan = plan_day(replace(part, windows=windows, late_cost=None), _BEAM)
    if plan is None:
        return math.inf
    stays = timetable(replace(part, windows=windows), plan.sequence).stays
    start = next(s.start for s in stays if s.stop == stop)
    return max(0.0, start - part.windows[stop][-1][1])


def _moves(day: RouteClock, stops: list[Stop]) -> tuple[str, ...]:
    """Say which of the stops may wait for another day, and until when."""
    today = day.workday.date
    free = [s for s in stops if s.until is not None and s.until > today and s.urgency == "routine"]
    return tuple(f"move {_called(s)} to another day: allowed until {_day(s.until)}" for s in free)


def _day(day: dt.date | None) -> str:
    return "" if day is None else f"{day:%A} {day.day} {day:%b}"
