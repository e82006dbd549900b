"""Today's stops: which premises are visited, for which tasks, for how long and when."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.followups import Doer
from fieldnotes.domain.urgency import Urgency
from fieldnotes.domain.wounds import Contamination
from fieldnotes.planning.anchors import local_date
from fieldnotes.planning.facts import healed, last_finding
from fieldnotes.planning.workdays import hours

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.patients import Position, Practice, Premises
    from fieldnotes.knowledge.rules import Rules
    from fieldnotes.knowledge.service import Services
    from fieldnotes.planning.workdays import Hours

_RANK = {Urgency.NOW: 0, Urgency.SAME_DAY: 1, Urgency.NEXT_VISIT: 2}


@dataclass(frozen=True)
class DueStop:
    """One premises of today's round; without a position it is listed untimed, never dropped."""

    premises: str
    name: str
    position: Position | None
    cases: tuple[str, ...]
    tasks: tuple[FollowUp, ...]
    service_min: float
    windows: tuple[Hours, ...]
    urgency: Urgency
    contaminated: bool


def contaminated(case: Case) -> bool:
    """Whether a case is visited last: an infected wound, or a dirty one that is not healed."""
    for wound in case.wounds:
        finding = last_finding(case, wound.label)
        if finding is not None and finding.infection_signs:
            return True
        dirty = wound.contamination is Contamination.DIRTY
        if dirty and not healed(case, wound.label):
            return True
    return False


def _today(task: FollowUp, today: dt.date, zone: str) -> bool:
    """Whether a task alone brings the vet today: due or overdue, or its appointment is today."""
    if task.appointment is not None:
        return local_date(task.appointment, zone) <= today
    return task.due <= today


def task_kind(task: FollowUp, rules: Rules) -> str:
    """Give the kind of a task, "other" for one set by hand."""
    rule = rules.get(task.rule)
    return rule.kind if rule is not None else "other"


def service_min(tasks: Iterable[FollowUp], rules: Rules, services: Services) -> float:
    """Give the minutes of a stop; one kind of task at one horse's wounds counts once."""
    kinds = {(t.horse, t.wounds, task_kind(t, rules)) for t in tasks}
    per_horse = services.horse_min * len({horse for horse, _, _ in kinds})
    return services.stop_min + per_horse + sum(services.get(k).minutes for _, _, k in kinds)


@dataclass(frozen=True)
class Desk:
    """What stops are reckoned with: places by id, the practice, rules and service minutes."""

    places: Mapping[str, Premises]
    practice: Practice
    rules: Rules
    services: Services


def _stop(
    desk: Desk, place: str, tasks: list[FollowUp], known: Mapping[str, Case], today: dt.date
) -> DueStop:
    premises = desk.places.get(place)
    refs = tuple(dict.fromkeys(t.case for t in tasks))
    return DueStop(
        premises=place,
        name=premises.name if premises else place,
        position=premises.position if premises else None,
        cases=refs,
        tasks=tuple(sorted(tasks, key=lambda t: (t.case, t.due, t.key))),
        service_min=service_min(tasks, desk.rules, desk.services),
        windows=_windows(desk, premises, tasks, today),
        urgency=min((t.urgency for t in tasks), key=_RANK.__getitem__),
        contaminated=any(contaminated(known[ref]) for ref in refs),
    )


def _windows(
    desk: Desk, premises: Premises | None, tasks: list[FollowUp], today: dt.date
) -> tuple[Hours, ...]:
    """Give the hours of the place, or the time of an appointment made for today."""
    zone = desk.practice.zone
    fixed = [
        t.appointment for t in tasks if t.appointment and local_date(t.appointment, zone) == today
    ]
    if fixed:
        return ((min(fixed), max(fixed)),)
    return hours(desk.practice, premises, today)


def due_stops(
    cases: Iterable[tuple[Case, tuple[FollowUp, ...]]], desk: Desk, today: dt.date
) -> tuple[DueStop, ...]:
    """Give today's stops, one per premises, most urgent first, from cases with their plans.

    A premises is visited if any vet task there is due; then every vet task whose window
    holds today joins.
    """
    known: dict[str, Case] = {}
    by_place: dict[str, list[FollowUp]] = {}
    for case, tasks in cases:
        known[case.ref] = case
        for task in tasks:
            if task.by is Doer.VET and task.earliest <= today:
                by_place.setdefault(task.premises, []).append(task)
    stops = [
        _stop(desk, place, tasks, known, today)
        for place, tasks in by_place.items()
        if any(_today(t, today, desk.practice.zone) for t in tasks)
    ]
    return tuple(sorted(stops, key=lambda s: (_RANK[s.urgency], s.premises)))
