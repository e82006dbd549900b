"""Outcomes over all cases: days to closure by kind of wound, complications, bandages used."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from fieldnotes.casework.judging import OPEN_METHODS, size_of
from fieldnotes.clinical.outcomes import (
    Followed,
    Rate,
    Step,
    median_days,
    still_open,
    wilson_rate,
)
from fieldnotes.domain.cases import Status
from fieldnotes.domain.entries import Referral, ReferralState
from fieldnotes.domain.wounds import Phase
from fieldnotes.planning.anchors import local_date

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from fieldnotes.casework.desk import Casework
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.treatment import Care
    from fieldnotes.domain.wounds import Finding, Wound
    from fieldnotes.knowledge.library import Library
    from fieldnotes.knowledge.outcomes import Definition, OutcomeTable

NOT_RECORDED = "not recorded"
NO_BANDAGE = "no bandage"
ALL = "all wounds"


class By(StrEnum):
    """What outcomes are grouped by."""

    REGION = "region"
    CLOSURE = "closure"
    BANDAGE = "bandage"


@dataclass(frozen=True)
class WoundOutcome:
    """One wound from injury to closure, or to the day it was last known open.

    `end` says what ended the follow-up; a complication is None where it could not be seen.
    """

    case: str
    wound: str
    region: str
    closure: str
    bandage: str
    bandages: tuple[str, ...]
    followed: Followed
    end: str
    dehisced: bool | None
    infected: bool | None
    proud_flesh: bool | None


@dataclass(frozen=True)
class OutcomeGroup:
    """The wounds of one kind together; a rate is None where no wound could have had it."""

    name: str
    wounds: int
    closed: int
    median_days: float | None
    curve: tuple[Step, ...]
    followed_to_day: float
    dehiscence: Rate | None
    infection: Rate | None
    proud_flesh: Rate | None
    few: bool
    few_closed: bool

    @property
    def censored(self) -> int:
        """Wounds not seen closed: died, referred, ended otherwise, or still open."""
        return self.wounds - self.closed


@dataclass(frozen=True)
class Outcomes:
    """Outcomes by one grouping, over all, with the bandages used and what was counted as what."""

    by: By
    groups: tuple[OutcomeGroup, ...]
    total: OutcomeGroup
    bandages: tuple[tuple[str, int], ...]
    wounds: tuple[WoundOutcome, ...]
    definitions: tuple[Definition, ...]
    few_below: int


def _healed_on(findings: tuple[tuple[dt.datetime, Finding], ...], zone: str) -> dt.date | None:
    """Give the day a wound was first seen healed and stayed so."""
    day: dt.date | None = None
    for at, finding in findings:
        size = size_of(finding)
        healed = finding.phase is Phase.HEALED or (size is not None and size.area_cm2 == 0)
        day = (day or local_date(at, zone)) if healed else None
    return day


def _end(case: Case, label: str, zone: str) -> tuple[dt.date, str]:
    """Give the day a wound's follow-up ended and why; an open wound's is the last it was seen."""
    findings = case.findings(label)
    healed = _healed_on(findings, zone)
    if healed is not None:
        return healed, Status.HEALED.value
    if case.ended_on is not None:
        return case.ended_on, case.status.value
    sent = [r.body.on for r in case.bodies(Referral) if r.body.state is ReferralState.ACCEPTED]
    if case.referred is ReferralState.ACCEPTED and sent:
        return sent[-1], "referred"
    seen = [case.hurt_at(label), *(at for at, _ in findings)]
    return local_date(seen[-1], zone), Status.OPEN.value


def _infected(case: Case, label: str, library: Library, *, sutured: bool) -> bool:
    counts = library.outcomes.definition("sutured_infection" if sutured else "infection")
    injured = local_date(case.hurt_at(label), library.zone)
    return any(
        len(finding.infection_signs) >= counts.least
        and (local_date(at, library.zone) - injured).days >= counts.from_day
        for at, finding in case.findings(label)
    )


def wound_outcome(case: Case, wound: Wound, library: Library) -> WoundOutcome:
    """Give what became of one wound."""
    label, table = wound.label, library.outcomes
    care = [c for _, c in case.care(label)]
    closures = [c.closure.method for c in care if c.closure is not None]
    bandages = [c.bandage.kind for c in care if c.bandage is not None]
    found = [f for _, f in case.findings(label)]
    on, end = _end(case, label, library.zone)
    days = float(max((on - local_date(case.hurt_at(label), library.zone)).days, 0))
    sutured = any(method not in OPEN_METHODS for method in closures)
    seen = bool(found)
    return WoundOutcome(
        case=case.ref,
        wound=label,
        region=_region(wound, library),
        closure=closures[0].value if closures else NOT_RECORDED,
        bandage=Counter(bandages).most_common(1)[0][0] if bandages else NO_BANDAGE,
        bandages=tuple(dict.fromkeys(bandages)),
        followed=Followed(days, closed=end == Status.HEALED.value),
        end=end,
        dehisced=any(f.dehiscence.strip() for f in found) if sutured and seen else None,
        infected=_infected(case, label, library, sutured=sutured) if seen else None,
        proud_flesh=_proud(found, care, table) if seen else None,
    )


def _region(wound: Wound, library: Library) -> str:
    known = wound.region in library.regions
    return library.regions.get(wound.region).cls.group if known else NOT_RECORDED


def _proud(found: list[Finding], care: list[Care], table: OutcomeTable) -> bool:
    least = table.definition("proud_flesh").least
    graded = any(f.granulation_grade >= least for f in found)
    return graded or any(c.granulation_trimmed for c in care)


def _rate(seen: Iterable[bool | None], few_below: int) -> Rate | None:
    known = [s for s in seen if s is not None]
    return wilson_rate(sum(known), len(known), few_below=few_below)


def _group(name: str, wounds: tuple[WoundOutcome, ...], few_below: int) -> OutcomeGroup:
    curve = still_open(w.followed for w in wounds)
    closed = sum(w.followed.closed for w in wounds)
    return OutcomeGroup(
        name=name,
        wounds=len(wounds),
        closed=closed,
        median_days=median_days(curve),
        curve=curve,
        followed_to_day=max((w.followed.days for w in wounds), default=0.0),
        dehiscence=_rate((w.dehisced for w in wounds), few_below),
        infection=_rate((w.infected for w in wounds), few_below),
        proud_flesh=_rate((w.proud_flesh for w in wounds), few_below),
        few=len(wounds) < few_below,
        few_closed=closed < few_below,
    )


def practice_outcomes(desk: Casework, by: By) -> Outcomes:
    """Give the outcomes of every case of the practice; each is folded once."""
    refs = (summary.ref for summary in desk.find_cases())
    return outcomes(desk.readable(desk.case, refs), desk.knowledge, by)


def outcomes(cases: Iterable[Case], library: Library, by: By) -> Outcomes:
    """Give the outcomes of all wounds of these cases, the largest group first."""
    wounds = tuple(wound_outcome(case, wound, library) for case in cases for wound in case.wounds)
    few_below = library.outcomes.few_below
    kinds: dict[str, list[WoundOutcome]] = {}
    for wound in wounds:
        kinds.setdefault(str(getattr(wound, by.value)), []).append(wound)
    groups = [_group(name, tuple(found), few_below) for name, found in kinds.items()]
    used = Counter(kind for wound in wounds for kind in wound.bandages)
    return Outcomes(
        by=by,
        groups=tuple(sorted(groups, key=lambda g: (-g.wounds, g.name))),
        total=_group(ALL, wounds, few_below),
        bandages=tuple(used.most_common()),
        wounds=wounds,
        definitions=library.outcomes.definitions,
        few_below=few_below,
    )
