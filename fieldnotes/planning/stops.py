"""Today's stops: which premises are visited, for which tasks, for how long and when."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from fieldnotes.domain.followups import Doer, FollowUp
from fieldnotes.domain.urgency import Urgency
from fieldnotes.domain.wounds import Contamination
from fieldnotes.planning.anchors import local_date
from fieldnotes.planning.facts import healed, last_finding
from fieldnotes.planning.route_clock import minutes_later
from fieldnotes.planning.workdays import hours

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.driving import Call
    from fieldnotes.domain.patients import Position, Practice, Premises
    from fieldnotes.knowledge.rules import Rules
    from fieldnotes.knowledge.service import Services
    from fieldnotes.planning.workdays import Hours

_RANK = {Urgency.NOW: 0, Urgency.SAME_DAY: 1, Urgency.NEXT_VISIT: 2}


@dataclass(frozen=True)
class DueStop:
    """One premises of today's round; without a position it is listed untimed, never dropped.

    `by` is when a case that must be seen now is to be begun.
    """

    premises: str
    name: str
    position: Position | None
    cases: tuple[str, ...]
    tasks: tuple[FollowUp, ...]
    service_min: float
    windows: tuple[Hours, ...]
    urgency: Urgency
    contaminated: bool
    by: dt.datetime | None = None

    @property
    def until(self) -> dt.date:
        """The last day its most pressing task may be done."""
        return min(t.latest for t in self.tasks)


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
    urgency = min((t.urgency for t in tasks), key=_RANK.__getitem__)
    dirty = any(contaminated(known[ref]) for ref in refs)
    early = dirty and urgency is not Urgency.NEXT_VISIT
    return DueStop(
        premises=place,
        name=premises.name if premises else place,
        position=premises.position if premises else None,
        cases=refs,
        tasks=tuple(sorted(tasks, key=lambda t: (t.case, t.due, t.key))),
        service_min=service_min(tasks, desk.rules, desk.services)
        + (desk.services.clean_down_min if early else 0.0),
        windows=_windows(desk, premises, tasks, today),
        urgency=urgency,
        contaminated=dirty,
        by=_by(desk, today) if urgency is Urgency.NOW else None,
    )


def _by(desk: Desk, today: dt.date) -> dt.datetime:
    start = dt.datetime.combine(today, desk.practice.day_start, ZoneInfo(desk.practice.zone))
    return minutes_later(start, desk.services.now_within_min)


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


def with_calls(
    stops: tuple[DueStop, ...], calls: Iterable[Call], desk: Desk, today: dt.date
) -> tuple[DueStop, ...]:
    """Give the stops with the day's calls; a call to a place that is visited joins its stop."""
    by_place = {s.premises: s for s in stops}
    for call in calls:
        added = _call_stop(call, desk, today)
        known = by_place.get(call.premises)
        by_place[call.premises] = added if known is None else _joined(known, added)
    return tuple(sorted(by_place.values(), key=lambda s: (_RANK[s.urgency], s.premises)))


def _call_stop(call: Call, desk: Desk, today: dt.date) -> DueStop:
    premises = desk.places.get(call.premises)
    task = FollowUp(
        key=f"call:{call.id}",
        case="",
        horse=call.horse,
        premises=call.premises,
        what=call.what or "call",
        by=Doer.VET,
        earliest=today,
        due=today,
        latest=today,
        reason=f"called in at {call.taken_at.astimezone(ZoneInfo(desk.practice.zone)):%H:%M}",
        source="practice default",
        urgency=call.urgency,
    )
    within = dt.timedelta(minutes=desk.services.now_within_min)
    now = call.urgency is Urgency.NOW
    return DueStop(
        premises=call.premises,
        name=premises.name if premises else call.premises,
        position=premises.position if premises else None,
        cases=(),
        tasks=(task,),
        service_min=call.service_min,
        windows=() if now else _windows(desk, premises, [task], today),
        urgency=call.urgency,
        contaminated=False,
        by=call.taken_at + within if now else None,
    )


def _joined(stop: DueStop, call: DueStop) -> DueStop:
    return replace(
        stop,
        tasks=(*call.tasks, *stop.tasks),
        service_min=stop.service_min + call.service_min,
        windows=call.windows if call.by else stop.windows,
        urgency=min(stop.urgency, call.urgency, key=_RANK.__getitem__),
        by=call.by or stop.by,
    )
