"""The day's round: from what is due and what was said on the road to stops, route and load."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal
from zoneinfo import ZoneInfo

from fieldnotes.casework.queries import due_lines
from fieldnotes.casework.views import Board
from fieldnotes.clinical.costs import cost_of
from fieldnotes.domain.driving import Road, Rule, StopState
from fieldnotes.domain.errors import NoStoreError
from fieldnotes.domain.followups import Doer, State
from fieldnotes.domain.urgency import Urgency
from fieldnotes.planning.learned import learned
from fieldnotes.planning.roundtrip import plan_route
from fieldnotes.planning.route_day import DayRoute, Ground, Stop, Workday
from fieldnotes.planning.stops import Desk, due_stops, with_calls
from fieldnotes.planning.supplies import Shelf, Treated, load_list, with_stock
from fieldnotes.planning.travel_fit import refit

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from fieldnotes.casework.views import CaseFile
    from fieldnotes.clinical.costs import Cost
    from fieldnotes.domain.formulary import Price
    from fieldnotes.domain.patients import Practice
    from fieldnotes.domain.register import Register
    from fieldnotes.knowledge.library import Library
    from fieldnotes.knowledge.service import Services
    from fieldnotes.planning.route_day import Break, Windows
    from fieldnotes.planning.route_day import Urgency as StopUrgency
    from fieldnotes.planning.stops import DueStop
    from fieldnotes.planning.supplies import Load
    from fieldnotes.planning.travel import TravelModel

COMING_DAYS = 7
NO_BASE = "the practice has no base position yet"
# What leaving a stop out is worth, in driving minutes: more than any detour, less than a late
# evening; dearer for one on its last day.
SKIP_COST = 1_000.0
LAST_DAY_COST = 3_000.0
STOP_URGENCY: Mapping[Urgency, StopUrgency] = {
    Urgency.NOW: "now",
    Urgency.SAME_DAY: "same day",
    Urgency.NEXT_VISIT: "routine",
}
_LOCKS: Mapping[Rule, Literal["first", "final", "at"]] = {
    Rule.FIRST: "first",
    Rule.FINAL: "final",
    Rule.AT: "at",
}


@dataclass(frozen=True)
class Roadbook:
    """What a day is planned with: register, tables, and everything said on the road."""

    register: Register
    library: Library
    road: Road = field(default_factory=Road)

    @property
    def practice(self) -> Practice:
        """The practice; NoStoreError before one is set up."""
        if self.register.practice is None:
            raise NoStoreError("no practice has been set up in this store yet")
        return self.register.practice

    @cached_property
    def services(self) -> Services:
        """Minutes for each kind of task, learned where rounds were logged."""
        return learned(self.library.services, self.road.stays())

    @cached_property
    def travel(self) -> TravelModel:
        """The practice's travel model, re-fitted to the logged drives, with its known drives."""
        practice = self.practice
        default = (practice.drive_fixed_min, practice.drive_min_per_km)
        return refit(self.road.legs(), practice.known_drives, default)

    @property
    def zone(self) -> ZoneInfo:
        """The zone of the practice's clocks."""
        return ZoneInfo(self.practice.zone)

    def workday(self, day: dt.date) -> Workday:
        """Give a day from the practice's first hour to its last."""
        start = dt.datetime.combine(day, self.practice.day_start, self.zone)
        return Workday(day, start, dt.datetime.combine(day, self.practice.day_end, self.zone))

    def pause(self, day: dt.date) -> Break | None:
        """Give the practice's break on a day, None if it plans none."""
        first, last = self.practice.break_from, self.practice.break_until
        if first is None or last is None:
            return None
        begin = dt.datetime.combine(day, first, self.zone)
        return begin, dt.datetime.combine(day, last, self.zone), self.practice.break_min

    def desk(self) -> Desk:
        """Give what stops are reckoned with."""
        return Desk(self.register.premises, self.practice, self.library.rules, self.services)

    def stops_on(
        self, files: Sequence[CaseFile], day: dt.date, only: tuple[str, ...] | None = None
    ) -> tuple[DueStop, ...]:
        """Give the premises to visit on a day with their tasks and calls (of `only` these)."""
        due = due_stops(((f.case, f.plan) for f in files), self.desk(), day)
        calls = [c for c in self.road.calls_on(day) if only is None or c.id in only]
        return with_calls(due, calls, self.desk(), day)

    def stop_of(self, due: DueStop, day: dt.date) -> Stop:
        """Give the stop a route is planned with, its locks and promises with it."""
        told = self.promised(due.premises, day)
        rule = self.road.rules_on(day).get(due.premises)
        stop = Stop(
            id=due.premises,
            premises=due.premises,
            position=due.position,
            service_min=due.service_min,
            windows=told or due.windows,
            urgency=STOP_URGENCY[due.urgency],
            contaminated=due.contaminated,
            skip_penalty=_skip_price(due, day, told=bool(told)),
            name=due.name,
            until=due.until,
            promised=bool(told),
            by=due.by,
        )
        if rule is None:
            return stop
        windows = ((rule.at, rule.at),) if rule.rule is Rule.AT and rule.at else stop.windows
        return replace(stop, lock=_LOCKS.get(rule.rule), skip_penalty=None, windows=windows)

    def promised(self, premises: str, day: dt.date) -> Windows:
        """Give the window owners at a premises were told, what suits them all if anything does."""
        told = [p for p in self.road.promises_on(day) if p.premises == premises]
        if not told:
            return ()
        opens, closes = max(p.opens for p in told), min(p.closes for p in told)
        if opens > closes:
            opens, closes = min(p.opens for p in told), max(p.closes for p in told)
        return ((opens.astimezone(self.zone), closes.astimezone(self.zone)),)

    def load(
        self, files: Iterable[CaseFile], stops: Iterable[DueStop], day: dt.date
    ) -> tuple[Load, ...]:
        """Give what the stops of a day still to do need, and what is left with owners.

        What the truck is short of stands first.
        """
        marks = self.road.marks_on(day)
        done = {m.stop for m in marks.values() if m.state is StopState.DONE}
        ahead = (s for s in stops if s.premises not in done)
        known = self.library
        shelf = Shelf(known.rules, known.services, known.bandages, known.regions, known.drugs)
        treated = {f.case.ref: Treated(f.case, f.horse, f.plan) for f in files}
        return with_stock(load_list(ahead, treated, shelf, day), self.road.in_truck())

    def route_of(self, stops: Iterable[DueStop], day: dt.date) -> DayRoute:
        """Plan a whole day from the practice's base; without a base nothing can be reached."""
        skipped = self._skipped(day)
        listed = [self.stop_of(s, day) for s in stops]
        left = tuple((s.id, skipped[s.id]) for s in listed if s.id in skipped)
        listed = [s for s in listed if s.id not in skipped]
        work = self.workday(day)
        if self.practice.base is None:
            lost = tuple((s.id, NO_BASE) for s in listed)
            return DayRoute(
                day, work.start, work.end, (), 0.0, 0.0, work.start,
                optimal=True, unreached=lost, skipped=left,
            )  # fmt: skip
        ground = Ground(self.zone, self.practice.base, self.travel)
        route = plan_route(ground, work, tuple(listed), pause=self.pause(day))
        return replace(route, skipped=(*route.skipped, *left))

    def _skipped(self, day: dt.date) -> Mapping[str, str]:
        marks = self.road.marks_on(day).values()
        return {m.stop: m.reason for m in marks if m.state is StopState.SKIPPED}


def _skip_price(due: DueStop, day: dt.date, *, told: bool) -> float | None:
    """Give the driving minutes a stop may be left out for; an urgent one may not."""
    if due.urgency is not Urgency.NEXT_VISIT:
        return None
    return LAST_DAY_COST if told or due.until <= day else SKIP_COST


def day_board(
    files: Sequence[CaseFile], book: Roadbook, day: dt.date, route: DayRoute | None = None
) -> Board:
    """Give the day at a glance: stops in order, what is due and why, what to load.

    Without a `route` the whole day is planned.
    """
    stops = book.stops_on(files, day)
    lines = due_lines(files, day, COMING_DAYS)
    vet = [line for line in lines if line.task.by is Doer.VET]
    load = book.load(files, stops, day)
    return Board(
        date=day,
        stops=stops,
        route=route or book.route_of(stops, day),
        overdue=tuple(x for x in vet if x.state is State.OVERDUE),
        due=tuple(x for x in vet if x.state is State.DUE),
        coming=tuple(x for x in vet if x.state is State.COMING),
        load=load,
        horses={key: horse.name for key, horse in book.register.horses.items()},
        costs=load_costs(load, book.register.prices),
    )


def load_costs(load: Iterable[Load], prices: Mapping[str, Price]) -> dict[str, Cost]:
    """Give what the items to load cost, those without a price left out."""
    found = ((x.item, cost_of(x.item, x.unit, x.count, prices)) for x in load)
    return {item: cost for item, cost in found if cost is not None}
