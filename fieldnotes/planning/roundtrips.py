"""The coming working days: which real visit on which day, each day as a route with a clock."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.planning.rounds import RoundsPlan, RoundsProblem, solve_rounds
from fieldnotes.planning.roundtrip import NO_POSITION, DayRoute, Stop, Urgency, plan_route
from fieldnotes.planning.travel import Place, TravelModel

if TYPE_CHECKING:
    from fieldnotes.domain.patients import Position, WeeklyWindow

_UNPLACED_MIN = 2_000.0  # driving minutes: more than any detour, so only the impossible is left


@dataclass(frozen=True)
class RoundVisit:
    """A visit to place: clinical dates, minutes, price per day late, the owner's weekly hours.

    It may be done from `earliest` to `latest`; each day after `due` costs `late_cost` minutes.
    """

    id: str
    premises: str
    position: Position | None
    service_min: float
    earliest: dt.date
    due: dt.date
    latest: dt.date
    late_cost: float = 40.0
    hours: tuple[WeeklyWindow, ...] = ()
    urgency: Urgency = "routine"
    contaminated: bool = False


@dataclass(frozen=True)
class RoundDay:
    """A working day the vet can drive."""

    date: dt.date
    start: dt.datetime
    end: dt.datetime


@dataclass(frozen=True)
class Rounds:
    """Days with their routes, what could not be placed and why, and a bound on all driving."""

    days: tuple[DayRoute, ...]
    unplaced: tuple[tuple[str, str], ...]
    drive_min: float
    bound_min: float
    solver: str
    proof: str


def plan_rounds(
    zone: dt.tzinfo,
    base: Position,
    days: tuple[RoundDay, ...],
    visits: tuple[RoundVisit, ...],
    travel: TravelModel,
    seeds: tuple[int, ...] = (1, 2, 4, 6),
) -> Rounds:
    """Choose day and order of the visits together; give each day as a route."""
    known = tuple(sorted((v for v in visits if v.position), key=lambda v: v.id))
    lost = tuple((v.id, NO_POSITION) for v in visits if v.position is None)
    plan = solve_rounds(_problem(base, days, known, travel), seeds)
    routes = tuple(
        plan_route(
            day.date, zone, base, day.start, day.end,
            tuple(_stop(known[j - 1], day, zone) for j in order), travel,
        )
        for day, order in zip(days, plan.routes, strict=True)
    )  # fmt: skip
    left = tuple((known[j - 1].id, _why(known[j - 1], days)) for j in plan.unplaced)
    drive = sum(route.drive_min for route in routes)
    return Rounds(routes, (*left, *lost), drive, _driving_bound(plan), plan.solver, plan.proof)


def _driving_bound(plan: RoundsPlan) -> float:
    """Give the least driving of any plan that is no later and leaves no more out than this one."""
    harm = plan.cost - plan.travel + len(plan.unplaced) * _UNPLACED_MIN
    return max(0.0, plan.bound - harm)


def _problem(
    base: Position, days: tuple[RoundDay, ...], visits: tuple[RoundVisit, ...], travel: TravelModel
) -> RoundsProblem:
    places = [Place("base", base), *(Place(v.premises, v.position) for v in visits if v.position)]
    drives = tuple(
        tuple(0.0 if a is b else round(travel.drive(a, b)[0], 1) for b in places) for a in places
    )
    lengths = tuple((day.end - day.start).total_seconds() / 60 for day in days)
    return RoundsProblem(
        day_ends=lengths,
        travel=drives,
        service=(0.0, *(v.service_min for v in visits)),
        windows=((0.0, max(lengths, default=0.0)), *(_hours(v, days) for v in visits)),
        penalty=((None,) * len(days), *(tuple(_price(v, d) for d in days) for v in visits)),
        unplaced_price=_UNPLACED_MIN,
    )


def _price(visit: RoundVisit, day: RoundDay) -> float | None:
    """Give the price of a day in minutes, None where the clinic or the owner rules it out."""
    open_then = not visit.hours or any(h.weekday == day.date.weekday() for h in visit.hours)
    if not open_then or not visit.earliest <= day.date <= visit.latest:
        return None
    return visit.late_cost * max(0, (day.date - visit.due).days)


def _hours(visit: RoundVisit, days: tuple[RoundDay, ...]) -> tuple[float, float]:
    """Give hours good on every day the owner can be met (those of the first, if none are)."""
    spans = [_span(visit, day) for day in days if _price(visit, day) is not None]
    opens, closes = max((s[0] for s in spans), default=0.0), min((s[1] for s in spans), default=0.0)
    return (opens, closes) if opens <= closes or not spans else spans[0]


def _span(visit: RoundVisit, day: RoundDay) -> tuple[float, float]:
    length = (day.end - day.start).total_seconds() / 60
    hours = [h for h in visit.hours if h.weekday == day.date.weekday()]
    if not hours:
        return 0.0, length
    begin = day.start.hour * 60 + day.start.minute
    opens = max(0.0, min(h.opens.hour * 60 + h.opens.minute for h in hours) - begin)
    return opens, max(opens, max(h.closes.hour * 60 + h.closes.minute for h in hours) - begin)


def _stop(visit: RoundVisit, day: RoundDay, zone: dt.tzinfo) -> Stop:
    windows = tuple(
        (
            dt.datetime.combine(day.date, h.opens, zone),
            dt.datetime.combine(day.date, h.closes, zone),
        )
        for h in visit.hours
        if h.weekday == day.date.weekday()
    )
    return Stop(visit.id, visit.premises, visit.position, visit.service_min, windows,
                visit.urgency, visit.contaminated)  # fmt: skip


def _why(visit: RoundVisit, days: tuple[RoundDay, ...]) -> str:
    if not any(visit.earliest <= day.date <= visit.latest for day in days):
        return f"no working day from {visit.earliest} to {visit.latest}"
    if not any(_price(visit, day) is not None for day in days):
        return "the owner's hours leave no day in its dates"
    return "the days it may be done on are full"
