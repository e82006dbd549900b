"""What screens and commands show: one frozen record for each question the vet asks."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from fieldnotes.clinical.costs import Cost
    from fieldnotes.clinical.course import Course
    from fieldnotes.clinical.flags import Flag
    from fieldnotes.domain.cases import Case, CaseLine
    from fieldnotes.domain.driving import StopMark
    from fieldnotes.domain.entries import FlagAnswered
    from fieldnotes.domain.followups import FollowUp, State
    from fieldnotes.domain.patients import Horse, Owner, Practice, Premises
    from fieldnotes.domain.treatment import Bandage, Closure
    from fieldnotes.domain.wounds import Finding, Wound
    from fieldnotes.knowledge.regions import Region
    from fieldnotes.planning.route_day import DayRoute
    from fieldnotes.planning.stops import DueStop
    from fieldnotes.planning.supplies import Load


@dataclass(frozen=True)
class CaseFilter:
    """What a case list is narrowed to; empty fields narrow nothing.

    `status` is "open", "ended" or one status.
    """

    text: str = ""
    owner: str = ""
    horse: str = ""
    status: str = ""


@dataclass(frozen=True)
class CaseSummary:
    """A row of the case list."""

    line: CaseLine
    horse: str
    owner: str
    premises: str

    @property
    def ref(self) -> str:
        """The case's short reference."""
        return self.line.ref


@dataclass(frozen=True)
class DueLine:
    """One follow-up with the names a reader needs."""

    task: FollowUp
    horse: str
    premises: str
    owner: str
    state: State


@dataclass(frozen=True)
class WoundFile:
    """Everything about one wound of a case, judged as of today."""

    wound: Wound
    region: Region
    findings: tuple[tuple[dt.datetime, Finding], ...]
    course: Course | None
    course_problem: str
    flags: tuple[Flag, ...]
    closure: Closure | None
    bandage: Bandage | None
    devices: tuple[str, ...] = ()
    """What was put in or on and is still there: drain, cast, splint."""
    answered: tuple[tuple[Flag, FlagAnswered], ...] = ()
    """Flags that hold but have been answered."""

    @property
    def last(self) -> Finding | None:
        """The newest finding."""
        return self.findings[-1][1] if self.findings else None


@dataclass(frozen=True)
class CaseFile:
    """A case with everyone it concerns, its wounds judged and its plan."""

    case: Case
    practice: Practice
    horse: Horse
    owner: Owner | None
    premises: Premises | None
    wounds: tuple[WoundFile, ...]
    plan: tuple[FollowUp, ...]
    missing: tuple[str, ...]
    died_in: str = ""
    """The case in which the horse died, this or another one; empty while it lives."""


@dataclass(frozen=True)
class Board:
    """The day at a glance."""

    date: dt.date
    stops: tuple[DueStop, ...]
    route: DayRoute
    overdue: tuple[DueLine, ...]
    due: tuple[DueLine, ...]
    coming: tuple[DueLine, ...]
    load: tuple[Load, ...]
    horses: Mapping[str, str]
    """Horse names by id."""
    costs: Mapping[str, Cost] = field(default_factory=dict)
    """What to load costs, by item, where the practice has entered a price."""
    marks: Mapping[str, StopMark] = field(default_factory=dict)
    """What was said on the road of stops that are no longer planned, in the order it happened."""


@dataclass(frozen=True)
class Saved:
    """What a save put on the medium."""

    ref: str
    entries: tuple[str, ...]
    unwritten: str = ""
    """What belonged to it and could not be written, in words."""
