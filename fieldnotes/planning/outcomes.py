"""What became of a follow-up: done, moved, missed or cancelled, as the record has it."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.domain.entries import FollowUpOutcome, Outcome
from fieldnotes.planning.anchors import local_date

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.followups import FollowUp, Series


@dataclass(frozen=True)
class Clock:
    """The day it is, and the zone the practice's calendar is kept in."""

    today: dt.date
    zone: str


def _day(day: dt.date) -> str:
    return f"{day.day} {day:%b}"


def _wanted(outcome: FollowUpOutcome, zone: str) -> dt.date | None:
    """Give the day a task was moved to, by its appointment if there is one."""
    appointment = outcome.appointment
    return local_date(appointment, zone) if appointment else outcome.moved_to


def _moved(task: FollowUp, outcome: FollowUpOutcome, zone: str) -> FollowUp:
    appointment, wanted = outcome.appointment, _wanted(outcome, zone)
    if wanted is None:
        return task
    note = f"moved to {_day(wanted)}" + (f": {outcome.reason}" if outcome.reason else "")
    if wanted > task.latest:
        note += f"; that is after its latest day, {_day(task.latest)}"
    due = min(wanted, task.latest)
    return replace(
        task, earliest=min(task.earliest, due), due=due, appointment=appointment, note=note
    )


def _not_kept(task: FollowUp, outcome: FollowUpOutcome) -> FollowUp:
    who = f" by {outcome.who}" if outcome.who else ""
    why = f": {outcome.reason}" if outcome.reason else ""
    note = f"{outcome.outcome.value} on {_day(outcome.on)}{who}{why}"
    return replace(task, appointment=None, note=f"{note}; offer again by {_day(task.latest)}")


def _not_told(task: FollowUp, outcome: FollowUpOutcome) -> FollowUp | None:
    """Give what is left of a task that ends only when the owner has been told its result."""
    if outcome.told_owner:
        return None
    about = task.what.partition(":")[0]
    if not outcome.result:
        return replace(task, what=f"enter the result: {about}", note="done, no result yet")
    note = f"result: {outcome.result}; the owner has not been told"
    return replace(task, what=f"tell the owner: {about}", note=note)


def _goes_on(
    task: FollowUp, series: Series, outcome: FollowUpOutcome, clock: Clock
) -> FollowUp | None:
    """Give a repeated task after one of its times was done, moved or left out; None at its end.

    A time that was moved takes the later ones along, but no further than one step.
    """
    if outcome.outcome is Outcome.NOT_APPLICABLE:
        return None
    step = dt.timedelta(days=max(1, math.floor(series.every_days)))
    start, note = outcome.on + step, f"{outcome.outcome.value} on {_day(outcome.on)}"
    if outcome.outcome is Outcome.MOVED:
        wanted = _wanted(outcome, clock.zone)
        start = min(wanted or start, start)
        note = f"moved to {_day(start)}"
    due = start + step * max(0, math.ceil((clock.today - start) / step))
    if due > series.until:
        return None
    note += f": {outcome.reason}" if outcome.reason else ""
    return replace(task, earliest=due, due=due, latest=due, note=note)


def _after(
    task: FollowUp, outcome: FollowUpOutcome, told_keys: frozenset[str], clock: Clock
) -> FollowUp | None:
    if task.series is not None:
        return _goes_on(task, task.series, outcome, clock)
    match outcome.outcome:
        case Outcome.DONE:
            return _not_told(task, outcome) if task.key in told_keys else None
        case Outcome.NOT_APPLICABLE:
            return None
        case Outcome.MOVED:
            return _moved(task, outcome, clock.zone)
        case _:
            return _not_kept(task, outcome)


def with_outcomes(
    tasks: Iterable[FollowUp], case: Case, told_keys: frozenset[str], clock: Clock
) -> tuple[FollowUp, ...]:
    """Give the tasks still open, moved where an outcome moved them; the clinical latest stays.

    `told_keys` are the tasks that stay open until there is a result and the owner has been told.
    """
    done = {k: local_date(v.body.at, clock.zone) for v in case.visits for k in v.body.tasks_done}
    said = {o.body.key: o.body for o in case.outcomes}
    found: list[FollowUp] = []
    for task in tasks:
        outcome = said.get(task.key)
        if task.key in done and (outcome is None or task.key not in told_keys):
            # Done at a visit ends one time of a series, and no sample before its result is told.
            outcome = FollowUpOutcome(task.key, Outcome.DONE, done[task.key])
        after = task if outcome is None else _after(task, outcome, told_keys, clock)
        if after is not None:
            found.append(after)
    return tuple(found)
