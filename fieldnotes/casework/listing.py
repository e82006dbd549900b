"""The case list: rows with the names a reader needs, narrowed by a filter."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.views import CaseFilter, CaseSummary
from fieldnotes.domain.cases import Status
from fieldnotes.domain.patients import PartyRole

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.domain.cases import CaseLine
    from fieldnotes.domain.patients import Horse, Owner
    from fieldnotes.domain.register import Register
    from fieldnotes.knowledge.library import Library


def owner_of(horse: Horse, register: Register, on: dt.date) -> Owner | None:
    """Give who is told about a horse: its owner, or its keeper if none is known."""
    for role in (PartyRole.OWNER, PartyRole.KEEPER):
        owner = register.owners.get(horse.party(role, on) or "")
        if owner is not None:
            return owner
    return None


def fits(summary: CaseSummary, wanted: CaseFilter, library: Library) -> bool:
    """Whether a case fits every part of a filter that is set."""
    line = summary.line
    if wanted.status and not _has_status(line.status, wanted.status):
        return False
    if wanted.owner.casefold() not in summary.owner.casefold():
        return False
    if wanted.horse.casefold() not in summary.horse.casefold():
        return False
    if not wanted.text.strip():
        return True
    regions = library.regions
    names = [regions.get(w.region).standard_name for w in line.wounds if w.region in regions]
    texts = [summary.horse, summary.owner, summary.premises, line.ref, line.words, *names]
    hay = " ".join(texts).casefold()
    return all(word in hay for word in wanted.text.casefold().split())


def _has_status(status: Status, wanted: str) -> bool:
    return status is not Status.OPEN if wanted == "ended" else status.value == wanted


def summary_of(line: CaseLine, register: Register, today: dt.date) -> CaseSummary:
    """Give a row of the case list."""
    horse = register.horses.get(line.horse)
    owner = owner_of(horse, register, today) if horse else None
    place = register.premises.get(line.premises)
    return CaseSummary(
        line=line,
        horse=horse.name if horse else line.horse,
        owner=owner.name if owner else "",
        premises=place.name if place else line.premises,
    )
