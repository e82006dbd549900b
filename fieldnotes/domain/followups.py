"""A follow-up: who does what to which wound, in which window, and why."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum

from fieldnotes.domain.urgency import Urgency


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
