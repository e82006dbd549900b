"""The day as it runs: the rest of it replanned from here and now, and what a change costs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.domain.driving import BASE
from fieldnotes.planning.day import DayProblem, Sequence
from fieldnotes.planning.day_times import timetable
from fieldnotes.planning.roundtrip import NO_BREAK, pause_of, plan_route, softened
from fieldnotes.planning.route_clock import (
    RouteClock,
    minutes_between,
    minutes_later,
    route_clock,
    told,
)
from fieldnotes.planning.travel import Place

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.planning.route_day import Break, DayRoute, Ground, Stop, Workday

PUT_OFF = "put off to another day"
WORTH_MIN = 10.0
"""Driving a new order must save before an announced one is given up."""
_SAME_MIN = 1.0  # two times closer than this are the same to an owner


@dataclass(frozen=True)
class Standing:
    """Where the vet stands, from when they can drive on, and the stop they are driving to."""

    place: Place
    ready: dt.datetime
    heading: str = ""


@dataclass(frozen=True)
class Announced:
    """What was accepted last: the order, its stops as they were then, and what it puts off."""

    order: tuple[str, ...]
    stops: tuple[Stop, ...]
    left_out: tuple[str, ...] = ()

    def covers(self, stops: tuple[Stop, ...]) -> bool:
        """Tell whether it answers for these stops and the time they take."""
        known = {s.id: s.service_min for s in self.stops}
        return all(
            s.position is None or s.id in self.left_out or known.get(s.id) == s.service_min
            for s in stops
        )


@dataclass(frozen=True)
class Shift:
    """A stop whose arrival moves, by minutes (less than 0: sooner), and its places in the order."""

    stop: str
    minutes: float
    place_before: int
    place: int


@dataclass(frozen=True)
class Price:
    """What taking a new plan costs against the one announced."""

    drive_min: float
    finish_min: float
    shifts: tuple[Shift, ...]
    added: tuple[str, ...]
    pushed: tuple[str, ...]


@dataclass(frozen=True)
class Replan:
    """The rest of the day as announced, and a new plan where there is one worth a question."""

    plan: DayRoute
    proposal: DayRoute | None
    price: Price | None
    why: str = ""


def replan(
    ground: Ground,
    workday: Workday,
    stops: tuple[Stop, ...],
    standing: Standing,
    announced: Announced | None,
    *,
    pause: Break | None = None,
) -> Replan:
    """Plan what is left from here and now.

    The announced order stays unless another saves ten minutes of driving or cures lateness; what
    is not in it yet, a stop or a call, is always a proposal.
    """
    rest = replace(workday, start=standing.ready)
    stops = _driving_on(stops, standing.heading)
    free = plan_route(ground, rest, stops, pause=pause, origin=standing.place, quick=True)
    free = _driven_home(free, ground, standing)
    if announced is None:
        return Replan(free, None, None)

    def kept(some: tuple[Stop, ...], order: tuple[str, ...]) -> DayRoute:
        route = route_in_order(ground, rest, some, order, standing.place, pause)
        return _driven_home(route, ground, standing)

    order = tuple(s for s in announced.order if s in {x.id for x in announced.stops})
    before = kept(_driving_on(announced.stops, standing.heading), order)
    before = replace(before, skipped=tuple((s, PUT_OFF) for s in announced.left_out))
    if not announced.covers(stops):
        day = route_clock(ground, rest, stops, standing.place)
        for stop in stops:
            if stop.id not in (*order, *announced.left_out) and stop.position is not None:
                order = _inserted(day, order, stop.id)
        with_new = replace(kept(_of(stops, order), order), skipped=before.skipped)
        better = _better(stops, with_new, free)
        taken = free if better or _order(free) == order else with_new
        return Replan(before, taken, price(before, taken), better or "the announced order is kept")
    if _order(free) == order:
        return Replan(replace(before, optimal=free.optimal), None, None)
    why = _better(stops, before, free)
    return Replan(before, free if why else None, price(before, free) if why else None, why)


def _of(stops: tuple[Stop, ...], order: tuple[str, ...]) -> tuple[Stop, ...]:
    return tuple(s for s in stops if s.id in order or s.position is None)


def _driven_home(route: DayRoute, ground: Ground, standing: Standing) -> DayRoute:
    """Give a day with nothing left to do its way home, if it is not over at the base."""
    minutes, km = ground.travel.drive(standing.place, Place(BASE, ground.base))
    if route.stops or standing.place.id == BASE:
        return route
    finish = minutes_later(route.start, minutes)
    return replace(route, drive_min=minutes, drive_km=km, finish=finish)


def _driving_on(stops: tuple[Stop, ...], heading: str) -> tuple[Stop, ...]:
    """Lock the stop that is being driven to, unless the vet said another comes first."""
    if not heading or any(s.lock == "first" for s in stops):
        return stops
    return tuple(replace(s, lock="first") if s.id == heading else s for s in stops)


def _order(route: DayRoute) -> tuple[str, ...]:
    return tuple(s.stop for s in route.stops)


def route_in_order(  # noqa: PLR0917  (a day has these parts)
    ground: Ground,
    workday: Workday,
    stops: tuple[Stop, ...],
    order: tuple[str, ...],
    origin: Place | None = None,
    pause: Break | None = None,
) -> DayRoute:
    """Give the clock of a given order, with the break where it harms least."""
    day = route_clock(ground, workday, stops, origin)
    rows = {s.id: j for j, s in enumerate(day.stops, 1)}
    sequence = Sequence(tuple(rows[stop] for stop in order if stop in rows))
    soft, rest = softened(day, day.problem), pause_of(day, pause)
    if rest is None or not sequence.order:
        return told(day, soft, sequence, optimal=False)
    paused = replace(soft, pause=rest)
    base = harm(soft, sequence)
    places = range(len(sequence.order))
    ways = [replace(sequence, pause_at=at, pause_before=b) for at in places for b in (False, True)]
    best = min(ways, key=lambda way: harm(paused, way))
    if harm(paused, best)[0] <= base[0] + _SAME_MIN:
        return told(day, paused, best, optimal=False)
    return told(day, soft, sequence, optimal=False, notes=(NO_BREAK,))


def harm(p: DayProblem, sequence: Sequence) -> tuple[float, float]:
    """Give (price of lateness and overtime, finish) of an order on a day of soft windows."""
    clock = timetable(p, sequence)
    late = sum(s.late * p.late_cost[s.stop] for s in clock.stays) if p.late_cost else 0.0
    return late + (p.overtime_cost or 0.0) * max(0.0, clock.finish - p.end), clock.finish


def _inserted(day: RouteClock, order: tuple[str, ...], stop: str) -> tuple[str, ...]:
    """Put a stop where it costs least: harm first, then driving; locks and heading stay first."""
    rows = {s.id: j for j, s in enumerate(day.stops, 1)}
    soft = softened(day, day.problem)
    first = 1 if order and rows.get(order[0]) == day.problem.first else 0
    last = len(order) - (1 if order and rows.get(order[-1]) == day.problem.final else 0)
    if rows[stop] == day.problem.first:
        first = last = 0

    def cost(longer: tuple[str, ...]) -> float:
        sequence = Sequence(tuple(rows[s] for s in longer))
        legs = zip((0, *sequence.order), (*sequence.order, 0), strict=True)
        return harm(soft, sequence)[0] + sum(soft.travel[i][j] for i, j in legs)

    ways = [(*order[:at], stop, *order[at:]) for at in range(first, max(first, last) + 1)]
    return min(ways, key=cost)


def _better(stops: tuple[Stop, ...], kept: DayRoute, free: DayRoute) -> str:
    """Say why a free plan is worth giving the announced order up for; empty if it is not."""
    urgent = {s.id for s in stops if s.urgency != "routine"}
    for names, words in ((urgent, "an urgent stop is on time"), (None, "less lateness")):
        if _late(kept, names) - _late(free, names) >= _SAME_MIN:
            return words
        if _late(free, names) - _late(kept, names) >= _SAME_MIN:
            return ""
    over = minutes_between(kept.end, kept.finish)
    if over >= _SAME_MIN and over - max(0.0, minutes_between(free.end, free.finish)) >= _SAME_MIN:
        return "back sooner after the day's end"
    off = {s for s, _ in kept.skipped}
    if any(s not in off for s, _ in free.skipped):
        return ""
    back = len(off) - len(free.skipped)
    if back > 0:
        return "there is room again for 1 stop" if back == 1 else f"room again for {back} stops"
    saved = kept.drive_min - free.drive_min
    return f"saves {saved:.0f} min driving" if saved >= WORTH_MIN else ""


def _late(route: DayRoute, names: set[str] | None) -> float:
    return sum(s.late_min for s in route.stops if names is None or s.stop in names)


def price(before: DayRoute, after: DayRoute) -> Price:
    """Give what a new plan costs against the old one: driving, return, stops that move."""
    was = {s.stop: (n, s) for n, s in enumerate(before.stops, 1)}
    shifts, added = [], []
    for place, stop in enumerate(after.stops, 1):
        if stop.stop not in was:
            added.append(stop.stop)
            continue
        number, old = was[stop.stop]
        minutes = minutes_between(old.arrive, stop.arrive)
        if abs(minutes) >= _SAME_MIN:
            shifts.append(Shift(stop.stop, minutes, number, place))
    driven = {s.stop for s in after.stops}
    return Price(
        drive_min=after.drive_min - before.drive_min,
        finish_min=minutes_between(before.finish, after.finish),
        shifts=tuple(shifts),
        added=tuple(added),
        pushed=tuple(s for s in was if s not in driven),
    )


def price_words(found: Price) -> str:
    """Give a price as one line: "+38 min driving, 2 stops 20-35 min later, back 41 min later"."""
    parts = [f"{found.drive_min:+.0f} min driving"]
    for sign, word in ((1, "later"), (-1, "sooner")):
        moved = sorted(abs(s.minutes) for s in found.shifts if s.minutes * sign > 0)
        if moved:
            span = "-".join(dict.fromkeys(f"{m:.0f}" for m in (moved[0], moved[-1])))
            stops = "1 stop" if len(moved) == 1 else f"{len(moved)} stops"
            parts.append(f"{stops} {span} min {word}")
    if found.pushed:
        parts.append(f"{len(found.pushed)} put off to another day")
    if abs(found.finish_min) >= _SAME_MIN:
        word = "later" if found.finish_min > 0 else "sooner"
        parts.append(f"back {abs(found.finish_min):.0f} min {word}")
    return ", ".join(parts)
