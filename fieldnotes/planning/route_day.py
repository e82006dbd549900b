"""A real day: stops with owners' hours and urgency in, a clock with reasons out."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from fieldnotes.domain.patients import Position
    from fieldnotes.planning.travel import TravelModel

Urgency = Literal["now", "same day", "routine"]
Windows = tuple[tuple[dt.datetime, dt.datetime], ...]
Break = tuple[dt.datetime, dt.datetime, float]
"""Earliest start, latest start, minutes."""


@dataclass(frozen=True)
class Ground:
    """Where the vet drives: the zone of its clocks, the base, and how long drives take."""

    zone: dt.tzinfo
    base: Position
    travel: TravelModel


@dataclass(frozen=True)
class Workday:
    """A day the vet drives, from leaving the base to being back."""

    date: dt.date
    start: dt.datetime
    end: dt.datetime


@dataclass(frozen=True)
class Stop:
    """One premises to visit today; `windows` are when service may begin (none: any time).

    `skip_penalty` in driving minutes lets the stop be left out (None: it must be served);
    `until` is the last day it may be done; `promised`: its window was told to the owner;
    `by` is when an urgent case must be begun, if it can be reached by then at all.
    """

    id: str
    premises: str
    position: Position | None
    service_min: float
    windows: Windows = ()
    urgency: Urgency = "routine"
    contaminated: bool = False
    skip_penalty: float | None = None
    lock: Literal["first", "final", "at"] | None = None
    name: str = ""
    until: dt.date | None = None
    promised: bool = False
    by: dt.datetime | None = None


@dataclass(frozen=True)
class PlannedStop:
    """One stop on the clock; `slack_min` until its window closes (None: it has none)."""

    stop: str
    arrive: dt.datetime
    start: dt.datetime
    leave: dt.datetime
    wait_min: float
    late_min: float
    drive_min: float
    drive_km: float
    slack_min: float | None
    reason: str
    note: str = ""


@dataclass(frozen=True)
class DayRoute:
    """A planned day; `unreached` have no position, `skipped` were left out, each with why."""

    date: dt.date
    start: dt.datetime
    end: dt.datetime
    stops: tuple[PlannedStop, ...]
    drive_min: float
    drive_km: float
    finish: dt.datetime
    optimal: bool
    unreached: tuple[tuple[str, str], ...] = ()
    skipped: tuple[tuple[str, str], ...] = ()
    pause: tuple[dt.datetime, dt.datetime] | None = None
    notes: tuple[str, ...] = ()
