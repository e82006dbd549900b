"""What became of a follow-up: done, moved, missed or cancelled, as the record has it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.domain.entries import Outcome
from fieldnotes.planning.anchors import local_date

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.entries import FollowUpOutcome
    from fieldnotes.domain.followups import FollowUp


def _day(day: dt.date) -> str:
    return f"{day.day} {day:%b}"


def _moved(task: FollowUp, outcome: FollowUpOutcome, zone: str) -> FollowUp:
    appointment = outcome.appointment
    wanted = local_date(appointment, zone) if appointment else outcome.moved_to
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


def _after(
    task: FollowUp, outcome: FollowUpOutcome, told_keys: frozenset[str], zone: str
) -> FollowUp | None:
    match outcome.outcome:
        case Outcome.DONE:
            if task.key in told_keys and not outcome.told_owner:
                return replace(task, what=f"tell the owner: {task.what}", note="done, not told")
            return None
        case Outcome.NOT_APPLICABLE:
            return None
        case Outcome.MOVED:
            return _moved(task, outcome, zone)
        case _:
            return _not_kept(task, outcome)


def with_outcomes(
    tasks: Iterable[FollowUp], case: Case, told_keys: frozenset[str], zone: str
) -> tuple[FollowUp, ...]:
    """Give the tasks still open, moved where an outcome moved them; the clinical latest stays.

    `told_keys` are the tasks that stay open until the owner has been told.
    """
    done = {key for v in case.visits for key in v.body.tasks_done}
    said = {o.body.key: o.body for o in case.outcomes}
    found: list[FollowUp] = []
    for task in tasks:
        outcome = said.get(task.key)
        if task.key in done and (outcome is None or task.key not in told_keys):
            continue
        after = task if outcome is None else _after(task, outcome, told_keys, zone)
        if after is not None:
            found.append(after)
    return tuple(found)
