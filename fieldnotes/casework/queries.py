"""Answers put together from the folded records, the knowledge tables and a day."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.casework.dying import deaths
from fieldnotes.casework.judging import wound_file
from fieldnotes.casework.listing import owner_of
from fieldnotes.casework.views import CaseFile, DueLine
from fieldnotes.domain.errors import NoStoreError, StoreError
from fieldnotes.domain.followups import State
from fieldnotes.planning.followups import plan

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from fieldnotes.casework.ports import Records
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.patients import Horse, Owner
    from fieldnotes.domain.register import Register
    from fieldnotes.knowledge.library import Library

_ORDER = {State.OVERDUE: 0, State.DUE: 1, State.COMING: 2}


def file_of(records: Records, ref: str, library: Library, today: dt.date) -> CaseFile:
    """Give a case of the records; where its horse has died nothing is planned any more."""
    file = case_file(records.case(ref), records.register(), library, today)
    death = deaths(records.lines(horse=file.horse.id)).get(file.horse.id)
    return file if death is None else replace(file, plan=(), died_in=death.ref)


def case_file(case: Case, register: Register, library: Library, today: dt.date) -> CaseFile:
    """Give a case with everyone it concerns, its wounds judged and its plan."""
    bare = plan_file(case, register, library, today)
    age = bare.horse.age_days(today)
    wounds = tuple(wound_file(case, wound, library, age, today) for wound in case.wounds)
    return CaseFile(
        case=case,
        practice=bare.practice,
        horse=bare.horse,
        owner=bare.owner,
        premises=bare.premises,
        wounds=wounds,
        plan=bare.plan,
        missing=bare.missing,
    )


def plan_file(case: Case, register: Register, library: Library, today: dt.date) -> CaseFile:
    """Give a case with its plan, its wounds not judged: what lists and routes need."""
    practice = register.practice
    if practice is None:
        raise NoStoreError("no practice has been set up in this store yet")
    horse = register.horses.get(case.opened.horse)
    if horse is None:
        raise StoreError(f"case {case.ref} is about a horse not in the register")
    owner = owner_of(horse, register, today)
    return CaseFile(
        case=case,
        practice=practice,
        horse=horse,
        owner=owner,
        premises=register.premises.get(case.opened.premises),
        wounds=(),
        plan=plan(case, horse, library.regions, library.rules, practice, today),
        missing=_missing(horse, owner),
    )


def _missing(horse: Horse, owner: Owner | None) -> tuple[str, ...]:
    missing = []
    if horse.weight() is None:
        missing.append("body weight")
    if owner is None:
        missing.append("owner")
    else:
        missing += [
            name for name, value in (("email", owner.email), ("phone", owner.phone)) if not value
        ]
    return tuple(missing)


def due_lines(files: Iterable[CaseFile], today: dt.date, days: int) -> tuple[DueLine, ...]:
    """Give the follow-ups overdue, due, and beginning within so many days, most urgent first."""
    lines = [
        DueLine(
            task=task,
            horse=file.horse.name,
            premises=file.premises.name if file.premises else "",
            owner=file.owner.name if file.owner else "",
            state=task.state(today),
        )
        for file in files
        for task in file.plan
        if (task.earliest - today).days <= days
    ]
    return tuple(sorted(lines, key=lambda x: (_ORDER[x.state], x.task.due, x.horse, x.task.key)))
