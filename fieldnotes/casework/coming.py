"""Which visit on which day: open vet tasks bundled by premises over the coming working days."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from fieldnotes.casework.rounds import travel_model
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.followups import Doer
from fieldnotes.planning.bundling import bundle
from fieldnotes.planning.roundtrip import Ground, Workday
from fieldnotes.planning.roundtrips import Rounds, RoundVisit, plan_rounds
from fieldnotes.planning.stops import contaminated, service_min
from fieldnotes.planning.workdays import next_workdays, reachable, works

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from fieldnotes.casework.views import CaseFile
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.patients import Position, Practice, Premises
    from fieldnotes.domain.register import Register
    from fieldnotes.knowledge.library import Library


@dataclass(frozen=True)
class PlacedVisit:
    """One visit to one premises: the tasks it serves, whatever the day it gets."""

    id: str
    premises: str
    name: str
    position: Position | None
    tasks: tuple[FollowUp, ...]


@dataclass(frozen=True)
class ComingRounds:
    """The coming rounds with the visits they place."""

    rounds: Rounds
    visits: tuple[PlacedVisit, ...]


def coming_rounds(
    files: Sequence[CaseFile], register: Register, library: Library, today: dt.date, days: int
) -> ComingRounds:
    """Plan the coming working days; RefusedInputError without a base to start from."""
    practice = register.practice
    if practice is None or practice.base is None:
        raise RefusedInputError("base", "the practice has no base position yet")
    workdays = next_workdays(practice, today, days)
    visits = _visits(files, register, practice, today, workdays[-1])
    dirty = {f.case.ref for f in files if contaminated(f.case)}
    wanted = tuple(
        _round_visit(v, register.premises.get(v.premises), library, dirty, today) for v in visits
    )
    zone = ZoneInfo(practice.zone)
    ground = Ground(zone, practice.base, travel_model(practice))
    rounds = plan_rounds(ground, tuple(_day(day, practice, zone) for day in workdays), wanted)
    return ComingRounds(rounds, _joined(visits, rounds.joined))


def _joined(
    visits: tuple[PlacedVisit, ...], together: tuple[tuple[str, ...], ...]
) -> tuple[PlacedVisit, ...]:
    """Give the visits as they are driven: those that share a stop as one, by the first's id."""
    known = {v.id: v for v in visits}
    for first, *others in together:
        tasks = tuple(task for other in others for task in known.pop(other).tasks)
        known[first] = replace(known[first], tasks=known[first].tasks + tasks)
    return tuple(known.values())


def _day(day: dt.date, practice: Practice, zone: ZoneInfo) -> Workday:
    start = dt.datetime.combine(day, practice.day_start, zone)
    return Workday(day, start, dt.datetime.combine(day, practice.day_end, zone))


def _wanted(practice: Practice, premises: Premises | None) -> Callable[[dt.date], bool]:
    def good(day: dt.date) -> bool:
        return works(practice, day) and (premises is None or reachable(premises, day))

    return good


def _visits(
    files: Sequence[CaseFile],
    register: Register,
    practice: Practice,
    today: dt.date,
    last: dt.date,
) -> tuple[PlacedVisit, ...]:
    by_place: dict[str, list[FollowUp]] = {}
    for file in files:
        for task in file.plan:
            if task.by is Doer.VET and task.due <= last:
                by_place.setdefault(task.premises, []).append(task)
    placed = []
    for place, tasks in sorted(by_place.items()):
        premises = register.premises.get(place)
        for number, visit in enumerate(bundle(tuple(tasks), today, _wanted(practice, premises)), 1):
            name, position = (premises.name, premises.position) if premises else (place, None)
            placed.append(PlacedVisit(f"{place}#{number}", place, name, position, visit.tasks))
    return tuple(placed)


def _round_visit(
    visit: PlacedVisit,
    premises: Premises | None,
    library: Library,
    dirty: set[str],
    today: dt.date,
) -> RoundVisit:
    earliest = max(today, *(t.earliest for t in visit.tasks))
    latest = max(min(t.latest for t in visit.tasks), earliest)
    due = min(max(min(t.due for t in visit.tasks), earliest), latest)
    return RoundVisit(
        id=visit.id,
        premises=visit.premises,
        position=premises.position if premises else None,
        service_min=service_min(visit.tasks, library.rules, library.services),
        earliest=earliest,
        due=due,
        latest=latest,
        hours=premises.hours if premises else (),
        contaminated=any(t.case in dirty for t in visit.tasks),
    )
