"""A caution about a visit, and all that is looked at to find it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.entries import Visit
    from fieldnotes.domain.patients import Horse
    from fieldnotes.domain.wounds import Finding, Wound
    from fieldnotes.knowledge.library import Library

LEVELS = ("block", "warn", "note")


@dataclass(frozen=True)
class Caution:
    """Something to know about one field of a visit; `level` is block, warn or note.

    A block keeps a visit from being saved while `needs_reason` (a typed reason is still missing)
    or while it has a `remedy`, which no reason replaces.
    """

    level: str
    field: str
    why: str
    source: str
    needs_reason: bool = False
    remedy: str = ""

    @property
    def refuses(self) -> bool:
        """Whether the visit cannot be saved as it stands."""
        return self.level == "block" and (self.needs_reason or bool(self.remedy))


@dataclass(frozen=True)
class Bedside:
    """The animal, its wounds and all its cases; the entry `without` is left out as corrected."""

    horse: Horse
    wounds: tuple[Wound, ...]
    case: Case | None
    others: tuple[Case, ...]
    library: Library
    now: dt.datetime
    without: str = ""
    injured_at: dt.datetime | None = None

    @property
    def cases(self) -> tuple[Case, ...]:
        """This case and the animal's others."""
        return (*((self.case,) if self.case else ()), *self.others)

    @property
    def visits(self) -> tuple[Visit, ...]:
        """Every recorded visit to the animal, by time."""
        found = (v.body for c in self.cases for v in c.visits if v.entry.id != self.without)
        return tuple(sorted(found, key=lambda v: v.at))

    def findings(self, label: str, visit: Visit) -> tuple[Finding, ...]:
        """Give one wound's findings up to and with a visit, oldest first."""
        before = () if self.case is None else self.case.visits
        earlier = (v.body for v in before if v.entry.id != self.without and v.body.at <= visit.at)
        return tuple(f for v in (*earlier, visit) for f in v.findings if f.wound == label)
