"""The animal with all its cases, gathered for the cautions about it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.caution import Bedside
from fieldnotes.domain.entries import CaseOpened

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.ports import Records
    from fieldnotes.domain.cases import Case


def bedside(
    desk: Casework, records: Records, about: CaseOpened | Case, without: str
) -> Bedside | None:
    """Give the animal of a case or an opening; None while it is not in the register.

    `without` is the entry that is left out as corrected.
    """
    case = None if isinstance(about, CaseOpened) else about
    opened = about if isinstance(about, CaseOpened) else about.opened
    horse = desk.register().horses.get(opened.horse)
    if horse is None:
        return None
    refs = (x.ref for x in records.lines() if x.horse == horse.id)
    rest = (ref for ref in refs if case is None or ref != case.ref)
    others = tuple(desk.readable(records.case, rest))
    known, now = desk.knowledge, desk.now()
    return Bedside(horse, about.wounds, case, others, known, now, without, opened.injured_at)
