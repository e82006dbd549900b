"""Infection under treatment: what is looked into before another drug may take its place."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from fieldnotes.casework.caution import Caution
from fieldnotes.casework.treatments import known_drug, placed_drugs, recorded
from fieldnotes.domain.wounds import SynovialEntry

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.casework.caution import Bedside
    from fieldnotes.clinical.patient_facts import Treatment
    from fieldnotes.domain.entries import Visit
    from fieldnotes.domain.wounds import Finding
    from fieldnotes.knowledge.library import Library

A_DAY = dt.timedelta(days=1)


def change_cautions(bed: Bedside, visit: Visit) -> Iterator[Caution]:
    """Say what comes first where a wound is infected under treatment; refuse a change before it."""
    infected = [f for f in visit.findings if f.infection_signs]
    running = tuple(_running(bed, visit))
    if not infected or not running:
        return
    tables = bed.library.triage
    steps = "; ".join(tables.steps)
    for finding in infected:
        field = f"findings.{finding.wound}.infection_signs"
        why = f"{finding.wound}: infection under treatment: {steps}; {tables.then}"
        yield Caution("warn", field, why, tables.steps_source)
    missing = [part for f in infected for part in _missing(bed, f, visit, running)]
    if missing:
        held = {t.drug for t in running}
        for placed in placed_drugs(visit, bed.library):
            new = placed.own and placed.treatment.drug not in held
            if new and _fights_germs(placed.treatment, bed.library):
                why = f"another drug while infection stands under the one before: first {steps}"
                remedy = f"record first: {', '.join(missing)}"
                source = tables.steps_source
                yield Caution("block", placed.field, why, source, remedy=remedy)


def _fights_germs(treatment: Treatment, library: Library) -> bool:
    drug = known_drug("", treatment.drug, library)
    return drug is not None and "antimicrobial" in drug.classes and treatment.route != "topical"


def _running(bed: Bedside, visit: Visit) -> Iterator[Treatment]:
    """Give the antimicrobial courses that were begun before the visit and hold on at it."""
    for t in recorded(bed):
        after = dt.timedelta(hours=t.interval_h) if t.interval_h else A_DAY
        if t.start < visit.at <= t.last + after and _fights_germs(t, bed.library):
            yield t


def _missing(
    bed: Bedside, finding: Finding, visit: Visit, running: tuple[Treatment, ...]
) -> Iterator[str]:
    """Give what was not looked into, at this visit or since the course began for a culture."""
    since = min(t.start for t in running)
    now = [c for c in visit.care if c.wound == finding.wound]
    earlier = [c for v in bed.visits if since < v.at <= visit.at for c in v.care]
    of = finding.wound
    if finding.synovial_entry is SynovialEntry.NOT_EXAMINED:
        yield f"synovial entry of {of}"
    if not any(c.exploration or c.radiographs for c in now):
        yield f"exploration or radiographs of {of} (foreign body, dead bone)"
    if not any(c.culture for c in (*now, *(c for c in earlier if c.wound == of))):
        yield f"culture of {of}"
