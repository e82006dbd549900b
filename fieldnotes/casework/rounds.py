"""The day's round: from what is due to stops, route and load."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from fieldnotes.casework.queries import due_lines
from fieldnotes.casework.views import Board
from fieldnotes.domain.followups import Doer, State
from fieldnotes.domain.urgency import Urgency
from fieldnotes.planning.roundtrip import DayRoute, Ground, Stop, Workday, plan_route
from fieldnotes.planning.stops import Desk, due_stops
from fieldnotes.planning.supplies import load_list
from fieldnotes.planning.travel import TravelModel

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from fieldnotes.casework.views import CaseFile
    from fieldnotes.domain.patients import Practice
    from fieldnotes.domain.register import Register
    from fieldnotes.knowledge.library import Library
    from fieldnotes.planning.roundtrip import Urgency as StopUrgency
    from fieldnotes.planning.stops import DueStop

COMING_DAYS = 7
_URGENCY: Mapping[Urgency, StopUrgency] = {
    Urgency.NOW: "now",
    Urgency.SAME_DAY: "same day",
    Urgency.NEXT_VISIT: "routine",
}


def stop_of(due: DueStop) -> Stop:
    """Give the stop a route is planned with."""
    return Stop(
        id=due.premises,
        premises=due.premises,
        position=due.position,
        service_min=due.service_min,
        windows=due.windows,
        urgency=_URGENCY[due.urgency],
        contaminated=due.contaminated,
    )


def stops_on(
    files: Sequence[CaseFile], register: Register, library: Library, day: dt.date
) -> tuple[DueStop, ...]:
    """Give the premises to visit on a day, each with its tasks."""
    practice = files[0].practice if files else register.practice
    if practice is None:
        return ()
    desk = Desk(register.premises, practice, library.rules, library.services)
    return due_stops(((f.case, f.plan) for f in files), desk, day)


def travel_model(practice: Practice) -> TravelModel:
    """Give the practice's travel model with its known drives."""
    return TravelModel(
        a_min=practice.drive_fixed_min,
        b_min_per_km=practice.drive_min_per_km,
        pairs=practice.known_drives,
    )


def route_of(stops: Iterable[DueStop], practice: Practice, day: dt.date) -> DayRoute:
    """Plan a whole day from the practice's base; without a base nothing can be reached."""
    zone = ZoneInfo(practice.zone)
    start = dt.datetime.combine(day, practice.day_start, zone)
    end = dt.datetime.combine(day, practice.day_end, zone)
    listed = tuple(stop_of(s) for s in stops)
    if practice.base is None:
        why = "the practice has no base position yet"
        unreached = tuple((s.id, why) for s in listed)
        return DayRoute(day, start, end, (), 0.0, 0.0, start, optimal=True, unreached=unreached)
    ground = Ground(zone, practice.base, travel_model(practice))
    return plan_route(ground, Workday(day, start, end), listed)


def day_board(
    files: Sequence[CaseFile], register: Register, library: Library, day: dt.date
) -> Board:
    """Give the day at a glance: stops in order, what is due and why, what to load."""
    stops = stops_on(files, register, library, day)
    practice = register.practice or files[0].practice
    lines = due_lines(files, day, COMING_DAYS)
    vet = [line for line in lines if line.task.by is Doer.VET]
    return Board(
        date=day,
        stops=stops,
        route=route_of(stops, practice, day),
        overdue=tuple(x for x in vet if x.state is State.OVERDUE),
        due=tuple(x for x in vet if x.state is State.DUE),
        coming=tuple(x for x in vet if x.state is State.COMING),
        load=load_list(stops, library.rules, library.services),
        horses={key: horse.name for key, horse in register.horses.items()},
    )
