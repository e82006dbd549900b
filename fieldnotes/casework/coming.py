"""Which visit on which day: open vet tasks bundled by premises over the coming working days."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.casework.rounds import STOP_URGENCY
from fieldnotes.domain.driving import StopState
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.followups import Doer
from fieldnotes.domain.urgency import Urgency
from fieldnotes.planning.bundling import bundle
from fieldnotes.planning.roundtrips import Caps, Rounds, RoundVisit, plan_rounds
from fieldnotes.planning.route_day import Ground
from fieldnotes.planning.stops import contaminated, service_min
from fieldnotes.planning.workdays import free_days, next_workdays, reachable, works

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from fieldnotes.casework.rounds import Roadbook
    from fieldnotes.casework.views import CaseFile
    from fieldnotes.domain.driving import Promise
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.patients import Position, Practice, Premises
    from fieldnotes.planning.rounds_solver import Progress

# What a day after the due one costs, in driving minutes.
LATE_DAY_COST = 40.0
URGENT_LATE_COST = 120.0
OVERDUE_DAYS = 21  # an overdue visit may still be placed this many days on


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
    free: tuple[tuple[dt.date, str], ...] = ()
    """Days without a round, each with why."""
    done: tuple[PlacedVisit, ...] = ()
    """What was marked done on the road today while no visit says so yet: not planned again."""


def coming_rounds(
    files: Sequence[CaseFile],
    book: Roadbook,
    today: dt.date,
    days: int,
    progress: Progress | None = None,
) -> ComingRounds:
    """Plan the coming working days; RefusedInputError without a base to start from."""
    practice = book.practice
    if practice.base is None:
        raise RefusedInputError("base", "the practice has no base position yet")
    workdays = next_workdays(practice, today, days)
    tasks, served = _tasks(files, book, today, workdays[-1])
    visits = _visits(tasks, book, today)
    dirty = {f.case.ref for f in files if contaminated(f.case)}
    wanted = tuple(_round_visit(v, book, dirty, today) for v in visits)
    ground = Ground(book.zone, practice.base, book.travel)
    caps = Caps(practice.most_visits, practice.most_visit_min)
    rounds = plan_rounds(
        ground, tuple(book.workday(d) for d in workdays), wanted, caps=caps, progress=progress
    )
    free = free_days(practice, today, workdays[-1])
    done = tuple(_placed(book, f"{place}#done", place, tuple(t)) for place, t in served.items())
    return ComingRounds(rounds, _joined(visits, rounds.joined), free, done)


def _joined(
    visits: tuple[PlacedVisit, ...], together: tuple[tuple[str, ...], ...]
) -> tuple[PlacedVisit, ...]:
    """Give the visits as they are driven: those that share a stop as one, by the first's id."""
    known = {v.id: v for v in visits}
    for first, *others in together:
        tasks = tuple(task for other in others for task in known.pop(other).tasks)
        known[first] = replace(known[first], tasks=known[first].tasks + tasks)
    return tuple(known.values())


def _wanted(practice: Practice, premises: Premises | None) -> Callable[[dt.date], bool]:
    def good(day: dt.date) -> bool:
        return works(practice, day) and (premises is None or reachable(premises, day))

    return good


_ByPlace = dict[str, list["FollowUp"]]


def _tasks(
    files: Sequence[CaseFile], book: Roadbook, today: dt.date, last: dt.date
) -> tuple[_ByPlace, _ByPlace]:
    """Give (the vet's tasks up to a day, those a stop marked done today has served) by premises."""
    done = _marked(book, today, StopState.DONE)
    left: _ByPlace = {}
    served: _ByPlace = {}
    for file in files:
        for task in file.plan:
            if task.by is Doer.VET and task.due <= last:
                over = task.premises in done and task.earliest <= today
                (served if over else left).setdefault(task.premises, []).append(task)
    return dict(sorted(left.items())), dict(sorted(served.items()))


def _marked(book: Roadbook, today: dt.date, state: StopState) -> set[str]:
    """Give the premises so marked on today's road."""
    return {m.stop for m in book.road.marks_on(today).values() if m.state is state}


def _visits(by_place: _ByPlace, book: Roadbook, today: dt.date) -> tuple[PlacedVisit, ...]:
    placed = []
    for place, tasks in by_place.items():
        groups = _grouped(tuple(tasks), book.register.premises.get(place), book, today, place)
        for number, group in enumerate(groups, 1):
            placed.append(_placed(book, f"{place}#{number}", place, group))
    return tuple(placed)


def _placed(book: Roadbook, key: str, place: str, tasks: tuple[FollowUp, ...]) -> PlacedVisit:
    premises = book.register.premises.get(place)
    name, position = (premises.name, premises.position) if premises else (place, None)
    return PlacedVisit(key, place, name, position, tasks)


def _grouped(
    tasks: tuple[FollowUp, ...],
    premises: Premises | None,
    book: Roadbook,
    today: dt.date,
    place: str,
) -> tuple[tuple[FollowUp, ...], ...]:
    """Give the tasks of each visit to a premises; what its owner was told makes one of its own."""
    told = next((p.date for p in _told(place, book, today)), None)
    kept: tuple[FollowUp, ...] = ()
    if told is not None:
        kept = tuple(t for t in tasks if t.earliest <= told <= max(t.latest, today))
    rest = tuple(t for t in tasks if t not in kept)
    bundled = bundle(rest, today, _wanted(book.practice, premises)) if rest else ()
    return (*([kept] if kept else []), *(visit.tasks for visit in bundled))


def _told(place: str, book: Roadbook, today: dt.date) -> tuple[Promise, ...]:
    """Give what owners at a premises were told about days to come, soonest first."""
    found = [
        p
        for p in book.road.promises.values()
        if p.premises == place and p.date >= today and not p.withdrawn
    ]
    return tuple(sorted(found, key=lambda p: (p.opens, p.id)))


def _days(first: dt.date, last: dt.date) -> Iterator[dt.date]:
    return (first + dt.timedelta(days=n) for n in range((last - first).days + 1))


def _round_visit(visit: PlacedVisit, book: Roadbook, dirty: set[str], today: dt.date) -> RoundVisit:
    premises = book.register.premises.get(visit.premises)
    skipped = visit.premises in _marked(book, today, StopState.SKIPPED)
    first = today + dt.timedelta(days=1) if skipped else today
    earliest = max(first, *(t.earliest for t in visit.tasks))
    latest = min(t.latest for t in visit.tasks)
    good = _wanted(book.practice, premises)
    if latest < earliest:  # overdue: each day costs, but a full one is no reason to drop it
        latest = earliest + dt.timedelta(days=OVERDUE_DAYS)
    elif not any(map(good, _days(earliest, latest))):  # the window lies in a weekend
        beyond = _days(latest, latest + dt.timedelta(days=OVERDUE_DAYS))
        latest = next(filter(good, beyond), latest)
    due = min(max(min(t.due for t in visit.tasks), earliest), latest)
    urgency = min((t.urgency for t in visit.tasks), key=list(Urgency).index)
    return RoundVisit(
        id=visit.id,
        premises=visit.premises,
        position=premises.position if premises else None,
        service_min=service_min(visit.tasks, book.library.rules, book.services),
        earliest=earliest,
        due=due,
        latest=latest,
        late_cost=LATE_DAY_COST if urgency is Urgency.NEXT_VISIT else URGENT_LATE_COST,
        hours=premises.hours if premises else (),
        contaminated=any(t.case in dirty for t in visit.tasks),
        urgency=STOP_URGENCY[urgency],
        within_min=book.services.now_within_min if urgency is Urgency.NOW else None,
        promised=_promised(visit, book, earliest, latest),
    )


def _promised(
    visit: PlacedVisit, book: Roadbook, earliest: dt.date, latest: dt.date
) -> tuple[dt.datetime, dt.datetime] | None:
    """Give the window the owner was told, or the appointment made, within a visit's days."""
    told = [p for p in _told(visit.premises, book, earliest) if p.date <= latest]
    if told:
        first = told[0]
        return first.opens.astimezone(book.zone), first.closes.astimezone(book.zone)
    made = [t.appointment for t in visit.tasks if t.appointment is not None]
    at = min(made).astimezone(book.zone) if made else None
    return (at, at) if at is not None and earliest <= at.date() <= latest else None
