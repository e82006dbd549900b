"""A case's present state: a fold over its entries in logical order."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Generic, TypeVar

from fieldnotes.domain.agreements import Consent, Estimate
from fieldnotes.domain.entries import (
    Amendment,
    Body,
    CaseOpened,
    Death,
    Discharge,
    Entry,
    FlagAnswered,
    FollowUpOutcome,
    Hold,
    Note,
    OwnerReport,
    Referral,
    ReferralState,
    TaskAdded,
    Transfer,
    Visit,
    WoundAdded,
)
from fieldnotes.domain.errors import StoreError
from fieldnotes.domain.paperwork import HandoutQueued
from fieldnotes.domain.pictures import Measurement, Photograph
from fieldnotes.domain.wounds import with_measured

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldnotes.domain.treatment import Care
    from fieldnotes.domain.wounds import Finding, Wound

T = TypeVar("T")


class Status(StrEnum):
    """Whether a case is still cared for, or how it ended."""

    OPEN = "open"
    HEALED = "healed"
    DISCHARGED = "discharged"
    CLOSED = "closed"
    DIED = "died"


@dataclass(frozen=True)
class WoundPlace:
    """Where a wound is, as a list shows it."""

    label: str
    region: str
    view: str = ""


@dataclass(frozen=True)
class CaseLine:
    """A case as the list and the search know it, without reading its entries."""

    ref: str
    horse: str
    premises: str
    opened: dt.datetime
    injured_at: dt.datetime
    last_at: dt.datetime
    status: Status
    on_hold: bool = False
    wounds: tuple[WoundPlace, ...] = ()
    words: str = ""
    ended_on: dt.date | None = None


@dataclass(frozen=True)
class Dated(Generic[T]):
    """A body as it now reads, with the entry it came from and the entry that amended it."""

    entry: Entry
    body: T
    amended_by: str = ""


@dataclass(frozen=True)
class Case:
    """The folded case; `entries` holds every entry in logical order, amended or not."""

    ref: str
    opened: CaseOpened
    entries: tuple[Entry, ...]
    wounds: tuple[Wound, ...]
    status: Status
    ended_on: dt.date | None
    on_hold: bool
    referred: ReferralState | None
    responsible: str
    on_call: str

    @property
    def opened_at(self) -> dt.datetime:
        """When the case was opened."""
        return self.entries[0].time

    def bodies(self, kind: type[T]) -> tuple[Dated[T], ...]:
        """Give all bodies of one kind in logical order, visits as amended."""
        corrections = {
            e.body.of: (e.id, e.body.corrected)
            for e in self.entries
            if isinstance(e.body, Amendment)
        }
        found: list[Dated[T]] = []
        for entry in self.entries:
            if not isinstance(entry.body, kind):
                continue
            amended_by, corrected = corrections.get(entry.id, ("", None))
            body = corrected if isinstance(corrected, kind) else entry.body
            found.append(Dated(entry, body, amended_by))
        return tuple(found)

    @property
    def visits(self) -> tuple[Dated[Visit], ...]:
        """The visits by the time they took place, as amended."""
        return tuple(sorted(self.bodies(Visit), key=lambda v: (v.body.at, v.entry.order)))

    @property
    def reports(self) -> tuple[Dated[OwnerReport], ...]:
        """The owner's reports."""
        return self.bodies(OwnerReport)

    @property
    def outcomes(self) -> tuple[Dated[FollowUpOutcome], ...]:
        """What became of follow-ups."""
        return self.bodies(FollowUpOutcome)

    @property
    def tasks(self) -> tuple[Dated[TaskAdded], ...]:
        """Follow-ups set by hand."""
        return self.bodies(TaskAdded)

    @property
    def answers(self) -> tuple[Dated[FlagAnswered], ...]:
        """Answers to flags."""
        return self.bodies(FlagAnswered)

    @property
    def amendments(self) -> tuple[Dated[Amendment], ...]:
        """All amendments."""
        return self.bodies(Amendment)

    @property
    def notes(self) -> tuple[Dated[Note], ...]:
        """Free-text notes."""
        return self.bodies(Note)

    @property
    def consents(self) -> tuple[Dated[Consent], ...]:
        """Consents, refusals and notices."""
        return self.bodies(Consent)

    @property
    def estimates(self) -> tuple[Dated[Estimate], ...]:
        """Estimates."""
        return self.bodies(Estimate)

    @property
    def handouts(self) -> tuple[Dated[HandoutQueued], ...]:
        """Handouts queued for the owner."""
        return self.bodies(HandoutQueued)

    @property
    def photographs(self) -> tuple[Dated[Photograph], ...]:
        """Photographs, in the order they were added."""
        return self.bodies(Photograph)

    def wound(self, label: str) -> Wound | None:
        """Give the wound with a label."""
        return next((w for w in self.wounds if w.label == label), None)

    def hurt_at(self, label: str) -> dt.datetime:
        """Give when a wound came about: one added later, when it was added."""
        added = (a.entry.time for a in self.bodies(WoundAdded) if a.body.wound.label == label)
        return next(added, self.opened.injured_at)

    def findings(self, label: str) -> tuple[tuple[dt.datetime, Finding], ...]:
        """Give one wound's findings with their time, oldest first, later sizes included."""
        seen = ((v.body.at, f) for v in self.visits for f in v.body.findings if f.wound == label)
        measured = (m.body for m in self.bodies(Measurement) if m.body.found.wound == label)
        return with_measured(seen, ((m.at, m.found) for m in measured))

    def care(self, label: str) -> tuple[tuple[dt.datetime, Care], ...]:
        """Give what was done for one wound with the time of the visit, oldest first."""
        return tuple((v.body.at, c) for v in self.visits for c in v.body.care if c.wound == label)


def _apply(case: Case, body: Body) -> Case:
    match body:
        case WoundAdded(wound):
            return replace(case, wounds=(*case.wounds, wound))
        case Discharge(end, on):
            return replace(case, status=Status(end.value), ended_on=on)
        case Death(on):
            return replace(case, status=Status.DIED, ended_on=on)
        case Hold(on_hold):
            return replace(case, on_hold=on_hold)
        case Referral(state):
            return replace(case, referred=state)
        case Transfer(to, on_call):
            return replace(case, responsible=to, on_call=on_call or case.on_call)
        case _:
            return case


def fold(ref: str, entries: Iterable[Entry]) -> Case:
    """Fold a case's entries, in any order given, into its present state.

    StoreError if none of them opens the case.
    """
    ordered = tuple(sorted(entries, key=lambda e: e.order))
    opened = next((e.body for e in ordered if isinstance(e.body, CaseOpened)), None)
    if opened is None:
        raise StoreError(f"case {ref} has no opening entry")
    case = Case(
        ref=ref,
        opened=opened,
        entries=ordered,
        wounds=opened.wounds,
        status=Status.OPEN,
        ended_on=None,
        on_hold=False,
        referred=None,
        responsible=opened.responsible,
        on_call=opened.on_call,
    )
    for entry in ordered:
        case = _apply(case, entry.body)
    return case
