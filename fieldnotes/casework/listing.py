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


def owner_of(horse: Horse, register: Register, on: dt.date) -> Owner | None:
    """Give who is told about a horse: its owner, or its keeper if none is known."""
    for role in (PartyRole.OWNER, PartyRole.KEEPER):
        owner = register.owners.get(horse.party(role, on) or "")
        if owner is not None:
            return owner
    return None


def fits(summary: CaseSummary, wanted: CaseFilter) -> bool:
    """Whether a case fits the status, owner and horse of a filter, as far as they are set."""
    line = summary.line
    if wanted.status and not _has_status(line.status, wanted.status):
        return False
    if wanted.owner and wanted.owner.casefold() not in summary.owner.casefold():
        return False
    return not wanted.horse or wanted.horse.casefold() in summary.horse.casefold()


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
