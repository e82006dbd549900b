"""How old a wound was when it was first seen, and whether its closure came in time."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from fieldnotes.casework.caution import Caution
from fieldnotes.clinical.wound_age import (
    TIMED,
    age_class,
    age_words,
    closure_by_time,
    hours_between,
)
from fieldnotes.domain.treatment import ClosureMethod
from fieldnotes.domain.wounds import Phase
from fieldnotes.knowledge.wound_ages import load_wound_ages

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from fieldnotes.casework.caution import Bedside
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.entries import Visit
    from fieldnotes.domain.treatment import Care
    from fieldnotes.domain.wounds import Finding
    from fieldnotes.knowledge.wound_ages import AgeClass, WoundAges

GRANULATING = (Phase.GRANULATING, Phase.EPITHELIALISING)


def hours_words(hours: float) -> str:
    """Give an age in hours, from two days on in days."""
    return f"{hours:.0f} h" if hours < 48 else f"{hours / 24:.0f} days"


@cache
def _wound_ages() -> WoundAges:
    return load_wound_ages()


def seen_after(case: Case) -> tuple[float, AgeClass] | None:
    """Give the hours from injury to first visit and their class; None before any visit."""
    if not case.visits:
        return None
    first = min(v.body.at for v in case.visits)
    hours = max(hours_between(case.opened.injured_at, first), 0.0)
    return hours, age_class(hours, _wound_ages())


def seen_words(case: Case) -> str:
    """Say how old the wounds were at first sight; empty before any visit."""
    seen = seen_after(case)
    if seen is None:
        return ""
    about = "about " if case.opened.injured_about else ""
    return f"first seen {about}{hours_words(seen[0])} after: {age_words(seen[0], _wound_ages())}"


def age_caution(bed: Bedside, visit: Visit) -> Iterator[Caution]:
    """Say at a first visit what the wounds' age means for closing them."""
    if bed.injured_at is None or (bed.case is not None and bed.visits):
        return
    hours = max(hours_between(bed.injured_at, visit.at), 0.0)
    found = age_class(hours, bed.library.wound_ages)
    why = f"{hours_words(hours)} old, class {found.number}, {found.means}: {found.advice}"
    yield Caution("note", "injured_at", why, found.source)


def closing_cautions(bed: Bedside, visit: Visit, care: Care, finding: Finding) -> Iterator[Caution]:
    """Warn of a primary closure late for the figure the practice goes by; name it by its time."""
    method = care.closure.method if care.closure is not None else None
    hurt_at = _hurt_at(bed, care.wound, visit)
    if method not in TIMED or hurt_at is None:
        return
    hours = max(hours_between(hurt_at, visit.at), 0.0)
    field = f"care.{care.wound}.closure"
    if method is ClosureMethod.PRIMARY:
        yield from _late(bed, hours, field)
    granulating = finding.phase in GRANULATING
    ages = bed.library.wound_ages
    named = closure_by_time(hours, ages, granulating=granulating)
    if named is not method:
        bed_words = "granulating" if granulating else "no granulation seen"
        why = f"{hours_words(hours)} after the injury, {bed_words}: by its time a {named}"
        yield Caution("note", field, why, ages.source)


def _hurt_at(bed: Bedside, label: str, visit: Visit) -> dt.datetime | None:
    """Give when a wound came about: one that joined the case later is as old as its addition."""
    if bed.case is None:
        return bed.injured_at
    return bed.case.hurt_at(label) if bed.case.wound(label) else visit.at


def _late(bed: Bedside, hours: float, field: str) -> Iterator[Caution]:
    chosen = bed.library.settled("golden-period")
    found = age_class(hours, bed.library.wound_ages)
    if chosen.closure_hours is None:
        if found.number > 1:
            why = f"{hours_words(hours)} old, class {found.number}, {found.means}: {found.advice}"
            yield Caution("warn", field, why, found.source)
    elif hours > chosen.closure_hours:
        why = f"primary closure {hours_words(hours)} after the injury: over {chosen.words}"
        yield Caution("warn", field, why, f"{chosen.source}, as the practice goes by")
