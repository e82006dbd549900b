"""A follow-up: who does what to which wound, in which window, and why."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import UnknownNameError
from fieldnotes.domain.urgency import Urgency

if TYPE_CHECKING:
    from collections.abc import Sequence


class Doer(StrEnum):
    """Who carries a follow-up out."""

    VET = "vet"
    OWNER = "owner"


class State(StrEnum):
    """Where a follow-up stands on a day."""

    OVERDUE = "overdue"
    DUE = "due"
    COMING = "coming"


@dataclass(frozen=True)
class Series:
    """A repeated owner task: every so many days, up to and including a last day."""

    every_days: float
    until: dt.date
    times_a_day: float = 1.0

    def times(self, first: dt.date) -> int:
        """Give how often it is still to be done, from a first day on."""
        days = (self.until - first).days // max(1.0, self.every_days) + 1
        return max(0, round(days * self.times_a_day))


@dataclass(frozen=True)
class FollowUp:
    """One open task of a plan; `key` is stable across re-planning of the same cause."""

    key: str
    case: str
    horse: str
    premises: str
    what: str
    by: Doer
    earliest: dt.date
    due: dt.date
    latest: dt.date
    reason: str
    source: str
    wounds: tuple[str, ...] = ()
    rule: str = ""
    kind: str = ""
    urgency: Urgency = Urgency.NEXT_VISIT
    series: Series | None = None
    appointment: dt.datetime | None = None
    note: str = ""

    def state(self, today: dt.date) -> State:
        """Give its state on a day: due inside its window, overdue after it."""
        if today > self.latest:
            return State.OVERDUE
        return State.DUE if today >= self.earliest else State.COMING


def short_names(plan: Sequence[FollowUp]) -> tuple[str, ...]:
    """Give what each task of a plan may be called: its rule, and as much more as tells it apart."""
    keys = [t.key for t in plan]

    def called(key: str) -> str:
        heads = (key[:n] for n, mark in enumerate(key) if mark in ":.")
        return next((h for h in heads if sum(k.startswith(h) for k in keys) == 1), key)

    return tuple(called(key) for key in keys)


def task_named(plan: Sequence[FollowUp], name: str) -> FollowUp:
    """Give a task by its key or any unique beginning; UnknownNameError lists what is open."""
    found = [t for t in plan if t.key == name] or [t for t in plan if t.key.startswith(name)]
    if name and len(found) == 1:
        return found[0]
    names = short_names(found or plan)
    says = "fits more than one task" if found and name else "is no open task"
    listed = f"; one of: {', '.join(names)}" if names else "; nothing is due"
    raise UnknownNameError("task", f"'{name}' {says}{listed}", names)
