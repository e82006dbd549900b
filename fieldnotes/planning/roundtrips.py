"""The coming working days: which real visit on which day, each day as a route with a clock."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.planning.rounds import RoundsProblem
from fieldnotes.planning.rounds_solver import solve_rounds
from fieldnotes.planning.roundtrip import LATE_COST, plan_route
from fieldnotes.planning.route_clock import NO_POSITION, minutes_between, minutes_later
from fieldnotes.planning.route_day import DayRoute, Ground, Stop, Urgency, Windows, Workday
from fieldnotes.planning.travel import Place

if TYPE_CHECKING:
    from fieldnotes.domain.patients import Position, WeeklyWindow
    from fieldnotes.planning.rounds import RoundsPlan
    from fieldnotes.planning.rounds_solver import Progress

PROMISE_COST = 60.0
"""Driving minutes a day told to an owner is worth keeping for."""
_UNPLACED_MIN = 2_000.0  # driving minutes: more than any detour, so only the impossible is left


@dataclass(frozen=True)
class RoundVisit:
    """A visit to place: clinical dates, minutes, price per day late, the owner's weekly hours.

    It may be done from `earliest` to `latest`; each day after `due` costs `late_cost` minutes.
    `promised` is the window its owner was told: another day costs PROMISE_COST; `within_min` is
    how soon after the day's start an urgent one is to be begun.
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
    promised: tuple[dt.datetime, dt.datetime] | None = None
    within_min: float | None = None


@dataclass(frozen=True)
class Caps:
    """The most visits and minutes at stops of one day; None where only its length limits it."""

    visits: int | None = None
    service_min: float | None = None


@dataclass(frozen=True)
class Rounds:
    """Days with their routes, what could not be placed and why, and a bound on all driving.

    `joined`: visits that share one stop, which goes by the first of them; `moved`: visits whose
    owner was told another day, with that day; `gap_percent`: how far the plan can be off at most.
    """

    days: tuple[DayRoute, ...]
    unplaced: tuple[tuple[str, str], ...]
    drive_min: float
    bound_min: float
    solver: str
    proof: str
    joined: tuple[tuple[str, ...], ...] = ()
    moved: tuple[tuple[str, dt.date], ...] = ()
    gap_percent: float = 0.0


def plan_rounds(
    ground: Ground,
    days: tuple[Workday, ...],
    visits: tuple[RoundVisit, ...],
    *,
    seeds: tuple[int, ...] = (1, 2, 4, 6),
    caps: Caps | None = None,
    progress: Progress | None = None,
) -> Rounds:
    """Choose day and order of the visits together; give each day as a route.

    Visits that fall on one premises on one day become one stop where their hours allow.
    """
    known = tuple(sorted((v for v in visits if v.position), key=lambda v: v.id))
    lost = tuple((v.id, NO_POSITION) for v in visits if v.position is None)
    caps = caps or Caps()
    problem = replace(
        _problem(ground, days, known), most_visits=caps.visits, most_service=caps.service_min
    )
    plan = solve_rounds(problem, seeds, progress)
    routes, joined = [], []
    for day, order in zip(days, plan.routes, strict=True):
        stops = [(known[j - 1].id, _stop(known[j - 1], day, ground.zone)) for j in order]
        groups = _by_premises(stops)
        routes.append(plan_route(ground, day, tuple(stop for _, stop in groups)))
        joined += [ids for ids, _ in groups if len(ids) > 1]
    left = tuple((known[j - 1].id, _why(known[j - 1], days)) for j in plan.unplaced)
    drive = sum(route.drive_min for route in routes)
    return Rounds(
        days=tuple(routes),
        unplaced=(*left, *sorted(lost)),
        drive_min=drive,
        bound_min=min(drive, _driving_bound(plan)),
        solver=plan.solver,
        proof=plan.proof,
        joined=tuple(joined),
        moved=_moved(known, days, plan),
        gap_percent=plan.gap_percent(_UNPLACED_MIN),
    )


def _moved(
    visits: tuple[RoundVisit, ...], days: tuple[Workday, ...], plan: RoundsPlan
) -> tuple[tuple[str, dt.date], ...]:
    """Give the visits that are not on the day their owner was told, with that day."""
    placed = {j: days[d].date for d, order in enumerate(plan.routes) for j in order}
    return tuple(
        (visit.id, visit.promised[0].date())
        for j, visit in enumerate(visits, 1)
        if visit.promised is not None and placed.get(j) != visit.promised[0].date()
    )


def _driving_bound(plan: RoundsPlan) -> float:
    """Give the least driving of any plan that is no later and leaves no more out than this one."""
    harm = plan.cost - plan.travel + len(plan.unplaced) * _UNPLACED_MIN
    return max(0.0, plan.bound - harm)


_Group = tuple[tuple[str, ...], Stop]


def _by_premises(stops: list[tuple[str, Stop]]) -> list[_Group]:
    """Join the visits of a day at one premises; kept apart where no hour suits both."""
    groups: list[_Group] = []
    for visit, stop in sorted(stops, key=lambda pair: pair[0]):
        for place, (ids, other) in enumerate(groups):
            both = _together(other, stop)
            if both is not None:
                groups[place] = ((*ids, visit), both)
                break
        else:
            groups.append(((visit,), stop))
    return groups


def _together(one: Stop, other: Stop) -> Stop | None:
    """Give one stop that does the work of two at one premises, None if it cannot."""
    windows = _overlap(one.windows, other.windows)
    if one.premises != other.premises or windows is None:
        return None
    return replace(
        one,
        service_min=one.service_min + other.service_min,
        windows=windows,
        urgency=min(one.urgency, other.urgency, key=list(LATE_COST).index),
        contaminated=one.contaminated or other.contaminated,
        by=one.by or other.by,
        promised=one.promised or other.promised,
    )


def _overlap(some: Windows, others: Windows) -> Windows | None:
    """Give the hours good for both (none: any time), None if there are none."""
    if not some or not others:
        return some or others
    both = tuple(
        (max(a[0], b[0]), min(a[1], b[1]))
        for a in some
        for b in others
        if max(a[0], b[0]) <= min(a[1], b[1])
    )
    return both or None


def _problem(
    ground: Ground, days: tuple[Workday, ...], visits: tuple[RoundVisit, ...]
) -> RoundsProblem:
    places = [Place(v.premises, v.position) for v in visits if v.position]
    places.insert(0, Place("base", ground.base))
    drives = tuple(
        tuple(0.0 if a is b else round(ground.travel.drive(a, b)[0], 1) for b in places)
        for a in places
    )
    lengths = tuple(_minutes(day) for day in days)
    rows = [_row(visit, days, ground.zone) for visit in visits]
    return RoundsProblem(
        day_ends=lengths,
        travel=drives,
        service=(0.0, *(v.service_min for v in visits)),
        windows=((0.0, max(lengths, default=0.0)), *(window for window, _ in rows)),
        penalty=((None,) * len(days), *(prices for _, prices in rows)),
        unplaced_price=_UNPLACED_MIN,
    )


def _minutes(day: Workday) -> float:
    return minutes_between(day.start, day.end)


def _price(visit: RoundVisit, day: Workday) -> float | None:
    """Give the price of a day in minutes, None where the clinic or the owner rules it out."""
    open_then = not visit.hours or any(h.weekday == day.date.weekday() for h in visit.hours)
    if not open_then or not visit.earliest <= day.date <= visit.latest:
        return None
    kept = visit.promised is None or visit.promised[0].date() == day.date
    late = visit.late_cost * max(0, (day.date - visit.due).days)
    return late if kept else late + PROMISE_COST


def _row(
    visit: RoundVisit, days: tuple[Workday, ...], zone: dt.tzinfo
) -> tuple[tuple[float, float], tuple[float | None, ...]]:
    """Give (hours, price of each day): the solver knows one window for all days.

    So the cheapest days come first, and a day whose hours share nothing with theirs is left out.
    """
    prices = {d: price for d, day in enumerate(days) if (price := _price(visit, day)) is not None}
    window: tuple[float, float] | None = None
    for d in sorted(prices, key=lambda d: (prices[d], d)):
        opens, closes = _span(visit, days[d], zone)
        if window is not None:
            opens, closes = max(opens, window[0]), min(closes, window[1])
        if opens <= closes:
            window = (opens, closes)
        else:
            del prices[d]
    return window or (0.0, 0.0), tuple(prices.get(d) for d in range(len(days)))


def _span(visit: RoundVisit, day: Workday, zone: dt.tzinfo) -> tuple[float, float]:
    """Give the hours of an owner on a day, in minutes after its start."""
    if visit.promised is not None and visit.promised[0].date() == day.date:
        return tuple(max(0.0, minutes_between(day.start, x)) for x in visit.promised)  # type: ignore[return-value]  # two of them
    hours = _hours(visit, day, zone)
    if not hours:
        return 0.0, _minutes(day)
    opens = min(minutes_between(day.start, first) for first, _ in hours)
    return max(0.0, opens), max(minutes_between(day.start, last) for _, last in hours)


def _hours(visit: RoundVisit, day: Workday, zone: dt.tzinfo) -> Windows:
    """Give the owner's hours on a day, on its clock."""
    return tuple(
        (
            dt.datetime.combine(day.date, h.opens, zone),
            dt.datetime.combine(day.date, h.closes, zone),
        )
        for h in visit.hours
        if h.weekday == day.date.weekday()
    )


def _stop(visit: RoundVisit, day: Workday, zone: dt.tzinfo) -> Stop:
    kept = visit.promised is not None and visit.promised[0].date() == day.date
    soon = visit.within_min
    return Stop(
        visit.id, visit.premises, visit.position, visit.service_min,
        (visit.promised,) if kept and visit.promised else _hours(visit, day, zone),
        visit.urgency, visit.contaminated, promised=kept, until=visit.latest,
        by=None if soon is None else minutes_later(day.start, soon),
    )  # fmt: skip


def _why(visit: RoundVisit, days: tuple[Workday, ...]) -> str:
    if not any(visit.earliest <= day.date <= visit.latest for day in days):
        return f"no working day from {visit.earliest} to {visit.latest}"
    if not any(_price(visit, day) is not None for day in days):
        return "the owner's hours leave no day in its dates"
    return "the days it may be done on are full"
