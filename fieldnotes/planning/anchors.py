"""What happened in a case, as dated events that follow-ups are counted from and closed by."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from fieldnotes.domain.patients import TetanusHistory
from fieldnotes.domain.treatment import ClosureMethod
from fieldnotes.domain.urgency import Urgency
from fieldnotes.domain.wounds import Amount, SynovialEntry

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.domain.cases import Case, Dated
    from fieldnotes.domain.entries import OwnerReport, Visit
    from fieldnotes.domain.patients import Horse
    from fieldnotes.domain.treatment import Care, DrugDispensed
    from fieldnotes.domain.wounds import Finding
    from fieldnotes.knowledge.rules import RemovalWords, Rules

NOT_CLOSED = (ClosureMethod.SECOND_INTENTION, ClosureMethod.GRAFT)
WET = (Amount.MODERATE, Amount.HEAVY)
TOXOID = "tetanus-toxoid"
ENTERED = (SynovialEntry.SUSPECTED, SynovialEntry.CONFIRMED)


@dataclass(frozen=True)
class Event:
    """Something dated; `wound` is empty for the whole case, `until` the end of a drug course.

    `at` is its moment where the order within a day matters.
    """

    kind: str
    on: dt.date
    entry: str
    wound: str = ""
    drug: str = ""
    name: str = ""
    until: dt.date | None = None
    at: dt.datetime | None = None


def local_date(time: dt.datetime, zone: str) -> dt.date:
    """Give the date a clock in the practice's zone shows."""
    return time.astimezone(ZoneInfo(zone)).date()


def _removed(visit: Visit, care: Care, words: RemovalWords) -> bool:
    """Whether a visit says it took something out; its kind counts where nothing is listed."""
    for item in (i.casefold() for i in care.removed):
        if any(w in item for w in words.words) and not any(w in item for w in words.but_not):
            return True
    return not care.removed and words.visit_kind is visit.kind


def _care_kinds(visit: Visit, care: Care, rules: Rules) -> Iterator[str]:
    for words in rules.removals:
        if _removed(visit, care, words):
            yield words.event
    if care.closure is not None:
        if care.closure.method not in NOT_CLOSED:
            yield "closed"
        if care.closure.method is ClosureMethod.GRAFT:
            yield "grafted"
        if care.closure.tension_sutures:
            yield "tension sutures placed"
    yield from (f"{device.kind.value} placed" for device in care.placed)
    signs = (
        ("bandaged", care.bandage is not None),
        ("bandage stopped", care.bandage_stopped),
        ("granulation trimmed", care.granulation_trimmed),
        ("radiographed", bool(care.radiographs)),
        ("culture taken", bool(care.culture)),
    )
    yield from (kind for kind, happened in signs if happened)


def _finding_kinds(finding: Finding) -> Iterator[str]:
    if {"bone", "periosteum"} & set(finding.exposed):
        yield "exposed"
    if finding.infection_signs:
        yield "infection seen"
    if finding.synovial_entry in ENTERED:
        yield "synovial entry"


def _visit_events(visit: Dated[Visit], rules: Rules, zone: str) -> Iterator[Event]:
    body, entry = visit.body, visit.entry.id
    on = local_date(body.at, zone)
    labels = dict.fromkeys([*(f.wound for f in body.findings), *(c.wound for c in body.care)])
    for wound in labels:
        yield Event("seen", on, entry, wound, at=body.at)
    for finding in body.findings:
        for kind in _finding_kinds(finding):
            yield Event(kind, on, entry, finding.wound)
    for care in body.care:
        for kind in _care_kinds(body, care, rules):
            yield Event(kind, on, entry, care.wound)
    for given in body.given:
        day = local_date(given.at, zone)
        yield Event("drug given", day, entry, drug=given.drug, name=given.name)


def last_dose(course: DrugDispensed) -> dt.datetime:
    """Give the time of the last dose of a dispensed course."""
    doses = max(1, math.ceil(course.days * 24 / course.interval_h))
    return course.starts + dt.timedelta(hours=course.interval_h * (doses - 1))


def _course_events(case: Case, zone: str) -> Iterator[Event]:
    """Give start and end of each course; a new course of the same drug ends the one before."""
    found = [(v.entry.id, d) for v in case.visits for d in v.body.dispensed]
    for entry, course in found:
        later = [d.starts for _, d in found if d.drug == course.drug and d.starts > course.starts]
        start = local_date(course.starts, zone)
        end = local_date(min([last_dose(course), *later]), zone)
        for kind, on in (("drug started", start), ("drug ended", end)):
            if kind == "drug ended" and later and min(later) <= course.ends:
                continue
            yield Event(kind, on, entry, drug=course.drug, name=course.name, until=end)


def _report_events(report: Dated[OwnerReport], zone: str) -> Iterator[Event]:
    """Give what an owner reported, by how soon it must be seen; nothing wrong is no event."""
    body = report.body
    said = ", ".join((*body.signs, *(f"{sign}?" for sign in body.unclear)))
    if said or body.urgency is not Urgency.NEXT_VISIT:
        on = local_date(body.at, zone)
        kind = f"reported, {body.urgency.value}"
        yield Event(kind, on, report.entry.id, name=said or "owner's report", at=body.at)


def events(case: Case, rules: Rules, zone: str) -> tuple[Event, ...]:
    """Give everything that happened in a case, in the order it happened."""
    injured = local_date(case.opened.injured_at, zone)
    opening = case.entries[0].id
    found = [Event("wounded", injured, opening)]
    for wound in case.wounds:
        hurt = local_date(case.hurt_at(wound.label), zone)
        found.append(Event("wounded", hurt, opening, wound.label))
    for visit in case.visits:
        found += _visit_events(visit, rules, zone)
    for report in case.reports:
        found += _report_events(report, zone)
    found += _course_events(case, zone)
    return tuple(found)


def first_dose_elsewhere(horse: Horse, happened: tuple[Event, ...]) -> tuple[Event, ...]:
    """Give the first dose of a toxoid course that the register alone knows of, since the injury.

    `happened` begins with the injury. A dose of this case on or before that day is that first one.
    """
    known, injury = horse.tetanus, happened[0]
    if known.history is not TetanusHistory.DATED or known.finished is not False:
        return ()
    here = (e.on for e in happened if e.kind == "drug given" and e.drug == TOXOID)
    if known.last is None or known.last <= injury.on or any(on <= known.last for on in here):
        return ()
    name = "tetanus toxoid elsewhere"
    return (Event("drug given", known.last, injury.entry, drug=TOXOID, name=name),)
