"""What a new entry changed in the plan of a case, and why, in plain lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.cases import Status
from fieldnotes.planning.anchors import events, local_date
from fieldnotes.planning.facts import healed

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterator

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.knowledge.rules import Rules

Plan = tuple["FollowUp", ...]
NO_LONGER = "what it was for no longer holds"


def _short(day: dt.date) -> str:
    return f"{day.day} {day:%b}"


def changes(before: Plan, after: Plan, why_gone: Callable[[FollowUp], str]) -> tuple[str, ...]:
    """Say in plain lines what a re-planning changed, and why.

    A task that gives way to another of the same words and wounds is one line, not two.
    """
    old, new = {t.key: t for t in before}, {t.key: t for t in after}
    gone = [t for key, t in old.items() if key not in new]
    came = [t for key, t in new.items() if key not in old]
    lines = [_moved(old[key], task) for key, task in new.items() if key in old]
    for task in gone:
        heir = next((t for t in came if _same(t, task)), None)
        if heir is None:
            lines.append(f"no longer due: {_named(task)} ({_short(task.due)}): {why_gone(task)}")
        else:
            came.remove(heir)
            lines.append(_renewed(task, heir))
    lines += [f"new: {_named(t)}, due {_short(t.due)} ({t.reason})" for t in came]
    return tuple(line for line in lines if line)


def _named(task: FollowUp) -> str:
    who = "" if task.by == "vet" else f" ({task.by.value})"
    where = f" in wound {', '.join(task.wounds)}" if task.wounds else ""
    return f"{task.what}{where}{who}"


def _same(one: FollowUp, other: FollowUp) -> bool:
    return (one.what, one.wounds, one.by) == (other.what, other.wounds, other.by)


def _moved(was: FollowUp, task: FollowUp) -> str:
    why = task.note or task.reason
    if was.what != task.what:
        return f"now: {_named(task)}, due {_short(task.due)} ({why})"
    if (was.due, was.latest) == (task.due, task.latest):
        said = task.note and task.note != was.note
        return f"still open: {_named(task)} ({task.note})" if said else ""
    return f"moved: {_named(task)}, {_short(was.due)} to {_short(task.due)} ({why})"


def _renewed(was: FollowUp, task: FollowUp) -> str:
    if was.due == task.due:
        return ""
    return f"again: {_named(task)}, {_short(task.due)}, before {_short(was.due)} ({task.reason})"


def gone_because(case: Case, rules: Rules, zone: str) -> Callable[[FollowUp], str]:
    """Give what says why a task is no longer in the plan of a case as it now stands."""
    happened = events(case, rules, zone)

    def why(task: FollowUp) -> str:
        said = (_ended(case), *_answered(case, task, zone), *_closed_wounds(case, task))
        return next((words for words in said if words), "") or _shown(task)

    def _shown(task: FollowUp) -> str:
        rule = rules.get(task.rule)
        done_by = rule.done_by if rule is not None else ()
        shown = [
            e
            for e in happened
            if e.kind in done_by and (not task.wounds or not e.wound or e.wound in task.wounds)
        ]
        return f"{shown[-1].kind} {_short(shown[-1].on)}" if shown else NO_LONGER

    return why


def _ended(case: Case) -> str:
    if case.status is Status.DIED:
        return "the horse died"
    if case.status is not Status.OPEN:
        return f"the case is {case.status.value}"
    if case.on_hold:
        return "the case is on hold"
    return f"referral {case.referred.value}" if case.referred else ""


def _answered(case: Case, task: FollowUp, zone: str) -> Iterator[str]:
    for outcome in reversed(case.outcomes):
        body = outcome.body
        if body.key == task.key:
            words = body.result or body.reason
            yield f"{body.outcome.value} {_short(body.on)}" + (f": {words}" if words else "")
    for visit in case.visits:
        if task.key in visit.body.tasks_done:
            yield f"done at the visit of {_short(local_date(visit.body.at, zone))}"


def _closed_wounds(case: Case, task: FollowUp) -> Iterator[str]:
    if task.wounds and all(healed(case, wound) for wound in task.wounds):
        yield f"wound {', '.join(task.wounds)} has healed"
