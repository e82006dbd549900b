"""The route of a real day: stops with owners' hours and urgency in, a clock with reasons out."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.planning.day import DayPlan, DayProblem, Pause
from fieldnotes.planning.day_solver import plan_day
from fieldnotes.planning.day_times import Stay, Timetable, timetable
from fieldnotes.planning.day_why import conflict
from fieldnotes.planning.travel import Place, TravelModel

if TYPE_CHECKING:
    from fieldnotes.domain.patients import Position

Urgency = Literal["now", "same day", "routine"]
Windows = tuple[tuple[dt.datetime, dt.datetime], ...]
# Driving minutes one minute late is worth. Urgent lateness outranks leaving routine stops out,
# which outranks driving; a missed comfort window is the cheapest harm.
LATE_COST = {"now": 100_000.0, "same day": 10_000.0, "routine": 10.0}
OVERTIME_COST = 30.0
CLEAN_DOWN = "clean down before the next stop"
NO_POSITION = "no position: give coordinates or minutes"
_TIGHT_MIN = 60.0
_SOFT_BEAM = 20_000  # a day with lateness is bounded less, so its search is kept shorter


@dataclass(frozen=True)
class Ground:
    """Where the vet drives: the zone of its clocks, the base, and how long drives take."""

    zone: dt.tzinfo
    base: Position
    travel: TravelModel


@dataclass(frozen=True)
class Workday:
    """A day the vet drives, from leaving the base to being back."""

    date: dt.date
    start: dt.datetime
    end: dt.datetime


@dataclass(frozen=True)
class Stop:
    """One premises to visit today; `windows` are when service may begin (none: any time).

    `skip_penalty` in driving minutes lets the stop be left out (None: it must be served).
    """

    id: str
    premises: str
    position: Position | None
    service_min: float
    windows: Windows = ()
    urgency: Urgency = "routine"
    contaminated: bool = False
    skip_penalty: float | None = None
    lock: Literal["first", "final"] | None = None


@dataclass(frozen=True)
class PlannedStop:
    """One stop on the clock; `slack_min` until its window closes (None: it has none)."""

    stop: str
    arrive: dt.datetime
    start: dt.datetime
    leave: dt.datetime
    wait_min: float
    late_min: float
    drive_min: float
    drive_km: float
    slack_min: float | None
    reason: str
    note: str = ""


@dataclass(frozen=True)
class DayRoute:
    """A planned day; `unreached` have no position, `skipped` were left out, each with why."""

    date: dt.date
    start: dt.datetime
    end: dt.datetime
    stops: tuple[PlannedStop, ...]
    drive_min: float
    drive_km: float
    finish: dt.datetime
    optimal: bool
    unreached: tuple[tuple[str, str], ...] = ()
    skipped: tuple[tuple[str, str], ...] = ()
    pause: tuple[dt.datetime, dt.datetime] | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Day:
    """What the solver's numbers mean: minutes since `start`, rows of places and stops."""

    start: dt.datetime
    zone: dt.tzinfo
    stops: tuple[Stop, ...]
    km: tuple[tuple[float, ...], ...]
    problem: DayProblem

    def at(self, minute: float) -> dt.datetime:
        """Give the local time of a minute of the day; right across a change of the clocks."""
        utc = self.start.astimezone(dt.UTC) + dt.timedelta(minutes=round(minute, 4))
        return utc.astimezone(self.zone)


def plan_route(
    ground: Ground,
    workday: Workday,
    stops: tuple[Stop, ...],
    *,
    pause: tuple[dt.datetime, dt.datetime, float] | None = None,
    from_position: Position | None = None,
) -> DayRoute:
    """Plan a day from `from_position` (default the base) back to the base.

    Every stop stands in exactly one of stops, unreached and skipped. If not all can be on time
    the plan does least harm: urgent lateness first, then stops left out, then driving.
    `pause` is (earliest start, latest start, minutes); it gives way before any stop does.
    """
    known = tuple(sorted((s for s in stops if s.position is not None), key=lambda s: s.id))
    lost = tuple((s.id, NO_POSITION) for s in stops if s.position is None)
    start, end = workday.start, workday.end
    day = _day(ground, workday, known, from_position or ground.base)
    rest = None if pause is None else Pause(_min(pause[0], start), _min(pause[1], start), pause[2])
    problem, plan, notes = _least_harm(day, rest)
    clock = timetable(problem, plan.sequence)
    planned = _planned(day, problem, clock)
    paused = next((stay.pause for stay in clock.stays if stay.pause), None)
    return DayRoute(
        date=workday.date,
        start=day.at(clock.depart),
        end=end.astimezone(ground.zone),
        stops=planned,
        drive_min=plan.travel,
        drive_km=sum(s.drive_km for s in planned) + _home_km(day, clock),
        finish=day.at(clock.finish),
        optimal=plan.optimal,
        unreached=lost,
        skipped=tuple((known[j - 1].id, "does not fit today without harm") for j in plan.skipped),
        pause=None if paused is None else (day.at(paused[0]), day.at(paused[1])),
        notes=(*notes, *_overtime(problem, clock)),
    )


def _min(moment: dt.datetime, start: dt.datetime) -> float:
    return (moment.astimezone(dt.UTC) - start.astimezone(dt.UTC)).total_seconds() / 60


def _day(ground: Ground, workday: Workday, stops: tuple[Stop, ...], origin: Position) -> _Day:
    base, start = ground.base, workday.start
    places = [Place("base", base)] + [Place(s.premises, s.position) for s in stops if s.position]
    setting_off = Place("base" if origin == base else "", origin)
    drives = [
        [
            ground.travel.drive(setting_off if i == 0 else a, b) if i != j else (0.0, 0.0)
            for j, b in enumerate(places)
        ]
        for i, a in enumerate(places)
    ]
    horizon = max(0.0, _min(workday.end, start))
    late = tuple(j for j, s in enumerate(stops, 1) if s.contaminated and s.urgency == "routine")
    problem = DayProblem(
        travel=tuple(tuple(drive[0] for drive in row) for row in drives),
        service=(0.0, *(s.service_min for s in stops)),
        windows=(((0.0, math.inf),), *(_windows(s, start) for s in stops)),
        day_end=horizon,
        skip=(None, *(s.skip_penalty for s in stops)),
        last=late,
        first=next((j for j, s in enumerate(stops, 1) if s.lock == "first"), None),
        final=next((j for j, s in enumerate(stops, 1) if s.lock == "final"), None),
    )
    kms = tuple(tuple(drive[1] for drive in row) for row in drives)
    return _Day(start, ground.zone, stops, kms, _softly_last(problem, stops))


def _softly_last(p: DayProblem, stops: tuple[Stop, ...]) -> DayProblem:
    """Let locks outrank the contaminated-last rule, which would make the day impossible."""
    if p.first in p.last and len(p.last) < len(stops):
        return replace(p, last=tuple(j for j in p.last if j != p.first))
    if p.final is not None and p.last and p.final not in p.last:
        return replace(p, last=(*p.last, p.final))
    return p


def _windows(stop: Stop, start: dt.datetime) -> tuple[tuple[float, float], ...]:
    spans = sorted((_min(opens, start), _min(closes, start)) for opens, closes in stop.windows)
    return tuple((max(0.0, opens), closes) for opens, closes in spans) or ((0.0, math.inf),)


def _least_harm(day: _Day, pause: Pause | None) -> tuple[DayProblem, DayPlan, tuple[str, ...]]:
    """Give the plan that keeps all promises with the break, without it, or harms least."""
    p = day.problem
    missed: tuple[str, ...] = ()
    if pause is not None and day.stops:
        rested = replace(p, pause=pause)
        plan = plan_day(rested)
        if plan is not None and not plan.skipped:
            return rested, plan, ()
        missed = ("no break fits",)
    plan = plan_day(p)
    if plan is not None and not plan.skipped:
        return p, plan, missed
    late_cost = (0.0, *(LATE_COST[s.urgency] for s in day.stops))
    soft = replace(p, overtime_cost=OVERTIME_COST, late_cost=late_cost)
    relaxed = plan_day(soft, _SOFT_BEAM)
    if relaxed is None:  # only locks and order rules that contradict each other can do that
        soft = replace(soft, first=None, final=None, last=())
        relaxed = plan_day(soft, _SOFT_BEAM)
        missed = (*missed, "the locks contradict each other and were left out")
    if relaxed is None:
        raise RefusedInputError("stops", "no order of them can be driven")
    return soft, relaxed, missed if plan is not None else (*missed, _said(day, p))


def _said(day: _Day, p: DayProblem) -> str:
    found = conflict(p)
    names = ", ".join(day.stops[j - 1].id for j in found.stops)
    return f"not all can be on time: {names or found.why}; {found.cure}"


def _planned(day: _Day, p: DayProblem, clock: Timetable) -> tuple[PlannedStop, ...]:
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
    if stop.urgency != "routine":
        return "deadline"
    if stop.contaminated:
        return "contaminated last"
    waited = stay.start > stay.arrive and not stay.pause
    tight = not math.isinf(stay.slack) and stay.slack < _TIGHT_MIN
    return "window" if waited or tight or stay.late else "on the way"


def _home_km(day: _Day, clock: Timetable) -> float:
    return day.km[clock.stays[-1].stop][0] if clock.stays else 0.0


def _overtime(p: DayProblem, clock: Timetable) -> tuple[str, ...]:
    over = clock.finish - p.day_end
    return (f"back {over:.0f} min after the day ends",) if over > 0.5 else ()
