"""Between a real day and the solver's numbers: minutes since the start, rows of places."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.domain.driving import BASE
from fieldnotes.planning.day import DayProblem
from fieldnotes.planning.day_times import Stay, Timetable, timetable
from fieldnotes.planning.route_day import DayRoute, Ground, PlannedStop, Stop, Workday
from fieldnotes.planning.travel import Place

if TYPE_CHECKING:
    from fieldnotes.planning.day import Sequence

CLEAN_DOWN = "clean down before the next stop"
NO_POSITION = "no position: give coordinates or minutes"
_TIGHT_MIN = 60.0


@dataclass(frozen=True)
class RouteClock:
    """What the solver's numbers mean: minutes since the day's start, rows of places and stops.

    `on_the_road`: it does not begin at the base, so nothing is gained by waiting to drive on.
    """

    workday: Workday
    zone: dt.tzinfo
    stops: tuple[Stop, ...]
    lost: tuple[Stop, ...]
    km: tuple[tuple[float, ...], ...]
    problem: DayProblem
    on_the_road: bool = False

    @property
    def start(self) -> dt.datetime:
        """When the day begins."""
        return self.workday.start

    def at(self, minute: float) -> dt.datetime:
        """Give the local time of a minute of the day; right across a change of the clocks."""
        utc = self.start.astimezone(dt.UTC) + dt.timedelta(minutes=round(minute, 4))
        return utc.astimezone(self.zone)

    def minute(self, moment: dt.datetime) -> float:
        """Give the minute of the day of a moment."""
        return minutes_between(self.start, moment)


def minutes_between(start: dt.datetime, moment: dt.datetime) -> float:
    """Give the true minutes from one moment to another, whatever the clocks do between."""
    return (moment.astimezone(dt.UTC) - start.astimezone(dt.UTC)).total_seconds() / 60


def minutes_later(moment: dt.datetime, minutes: float) -> dt.datetime:
    """Give a moment so many true minutes later (or earlier) on the same clock."""
    utc = moment.astimezone(dt.UTC) + dt.timedelta(minutes=minutes)
    return utc.astimezone(moment.tzinfo)


def route_clock(
    ground: Ground, workday: Workday, stops: tuple[Stop, ...], origin: Place | None = None
) -> RouteClock:
    """Give a day's stops as a problem for the solver, from `origin` (default the base)."""
    lost = tuple(s for s in stops if s.position is None)
    stops = tuple(sorted((s for s in stops if s.position is not None), key=lambda s: s.id))
    km, problem = _problem(ground, workday, stops, origin or Place(BASE, ground.base))
    road = origin is not None and origin.id != BASE
    return RouteClock(workday, ground.zone, stops, lost, km, _softly_last(problem, stops), road)


def _problem(
    ground: Ground, workday: Workday, stops: tuple[Stop, ...], origin: Place
) -> tuple[tuple[tuple[float, ...], ...], DayProblem]:
    base, start = ground.base, workday.start
    places = [Place(BASE, base)] + [Place(s.premises, s.position) for s in stops if s.position]
    drives = [
        [
            ground.travel.drive(origin if i == 0 else a, b) if i != j else (0.0, 0.0)
            for j, b in enumerate(places)
        ]
        for i, a in enumerate(places)
    ]
    horizon = max(0.0, minutes_between(start, workday.end))
    late = tuple(j for j, s in enumerate(stops, 1) if s.contaminated and s.urgency == "routine")
    problem = DayProblem(
        travel=tuple(tuple(drive[0] for drive in row) for row in drives),
        service=(0.0, *(s.service_min for s in stops)),
        windows=(
            ((0.0, math.inf),),
            *(_windows(s, start, drives[0][j][0]) for j, s in enumerate(stops, 1)),
        ),
        day_end=horizon,
        skip=(None, *(s.skip_penalty for s in stops)),
        last=late,
        first=next((j for j, s in enumerate(stops, 1) if s.lock == "first"), None),
        final=next((j for j, s in enumerate(stops, 1) if s.lock == "final"), None),
    )
    kms = tuple(tuple(drive[1] for drive in row) for row in drives)
    return kms, problem


def _softly_last(p: DayProblem, stops: tuple[Stop, ...]) -> DayProblem:
    """Let locks outrank the contaminated-last rule, which would make the day impossible."""
    if p.first in p.last and len(p.last) < len(stops):
        return replace(p, last=tuple(j for j in p.last if j != p.first))
    if p.final is not None and p.last and p.final not in p.last:
        return replace(p, last=(*p.last, p.final))
    return p


def _windows(stop: Stop, start: dt.datetime, soonest: float) -> tuple[tuple[float, float], ...]:
    """Give the minutes a stop may begin in; an urgent one as soon as it can be reached."""
    spans = sorted((minutes_between(start, a), minutes_between(start, b)) for a, b in stop.windows)
    windows = tuple((max(0.0, opens), closes) for opens, closes in spans) or ((0.0, math.inf),)
    if stop.by is None:
        return windows
    by = max(minutes_between(start, stop.by), soonest)
    return tuple((a, min(b, by)) for a, b in windows if a <= by) or ((0.0, by),)


def told(
    day: RouteClock,
    problem: DayProblem,
    sequence: Sequence,
    *,
    optimal: bool,
    notes: tuple[str, ...] = (),
    skipped: tuple[int, ...] = (),
) -> DayRoute:
    """Give an order of the day's stops as a route with times and reasons."""
    clock = timetable(problem, sequence, at_once=day.on_the_road)
    planned = _planned(day, problem, clock)
    paused = next((stay.pause for stay in clock.stays if stay.pause), None)
    legs = zip((0, *sequence.order), (*sequence.order, 0), strict=True)
    return DayRoute(
        date=day.workday.date,
        start=day.at(clock.depart),
        end=day.workday.end.astimezone(day.zone),
        stops=planned,
        drive_min=sum(problem.travel[i][j] for i, j in legs) if sequence.order else 0.0,
        drive_km=sum(s.drive_km for s in planned) + _home_km(day, clock),
        finish=day.at(clock.finish),
        optimal=optimal,
        unreached=tuple((s.id, NO_POSITION) for s in day.lost),
        skipped=tuple((day.stops[j - 1].id, _left_out(day.stops[j - 1], day)) for j in skipped),
        pause=None if paused is None else (day.at(paused[0]), day.at(paused[1])),
        notes=(*notes, *_overtime(problem, clock)),
    )


def _left_out(stop: Stop, day: RouteClock) -> str:
    """Say why a stop is left out, and until when it can wait."""
    if stop.until is None:
        return "does not fit today without harm"
    until = f"{stop.until:%A} {stop.until.day} {stop.until:%b}"
    if stop.until > day.workday.date:
        return f"does not fit today without harm; may be done until {until}"
    return f"does not fit today without harm; its last day is {until}"


def _planned(day: RouteClock, p: DayProblem, clock: Timetable) -> tuple[PlannedStop, ...]:
    planned, here = [], 0
    for place, stay in enumerate(clock.stays):
        stop = day.stops[stay.stop - 1]
        resting = stay.pause[1] - stay.pause[0] if stay.pause else 0.0
        wait = max(0.0, stay.start - stay.arrive)
        if stay.pause and stay.pause[0] < stay.start:
            wait = max(0.0, wait - resting)
        more = place + 1 < len(clock.stays)
        planned.append(
            PlannedStop(
                stop=stop.id,
                arrive=day.at(stay.arrive),
                start=day.at(stay.start),
                leave=day.at(stay.leave),
                wait_min=wait,
                late_min=stay.late,
                drive_min=p.travel[here][stay.stop],
                drive_km=day.km[here][stay.stop],
                slack_min=None if math.isinf(stay.slack) else stay.slack,
                reason=_reason(stop, stay),
                note=CLEAN_DOWN if stop.contaminated and more else "",
            )
        )
        here = stay.stop
    return tuple(planned)


def _reason(stop: Stop, stay: Stay) -> str:
    """Say in a word why a stop stands where it does."""
    if stop.lock:
        return "lock"
    if stop.promised:
        return "promised"
    if stop.urgency != "routine":
        return "deadline"
    if stop.contaminated:
        return "contaminated last"
    waited = stay.start > stay.arrive and not stay.pause
    tight = not math.isinf(stay.slack) and stay.slack < _TIGHT_MIN
    return "window" if waited or tight or stay.late else "on the way"


def _home_km(day: RouteClock, clock: Timetable) -> float:
    return day.km[clock.stays[-1].stop][0] if clock.stays else 0.0


def _overtime(p: DayProblem, clock: Timetable) -> tuple[str, ...]:
    over = clock.finish - p.day_end
    return (f"back {over:.0f} min after the day ends",) if over > 0.5 else ()
