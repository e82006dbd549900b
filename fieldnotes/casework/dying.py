"""A death with what was drawn for it: the record first, then the controlled-drug register."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.domain.cases import Status
from fieldnotes.domain.errors import FieldnotesError, Problem
from fieldnotes.domain.vials import MoveKind, VialMove

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.cases import CaseLine
    from fieldnotes.domain.entries import Death

EUTHANASIA = "euthanasia"
Draw = tuple[str, float]
"""The mark of a vial and the mL that came out of it."""


def deaths(lines: Iterable[CaseLine]) -> dict[str, CaseLine]:
    """Give the case in which each dead horse died, by the horse; its other cases do not say so."""
    return {line.horse: line for line in lines if line.status is Status.DIED}


def of_the_living(every: Iterable[CaseLine], still_open: Iterable[CaseLine]) -> tuple[str, ...]:
    """Give the open cases' references, but for a dead horse's: those plan nothing either."""
    dead = deaths(every)
    return tuple(line.ref for line in still_open if line.horse not in dead)


def death_problems(
    desk: Casework, ref: str, death: Death, draws: tuple[Draw, ...], why: str, *, unbooked: bool
) -> Iterator[Problem]:
    """Check a death, and each draw for it; a registered drug needs its vial, or a plain no."""
    yield from desk.check(ref, death)
    if draws and not death.euthanased:
        yield Problem("vial.0", "nothing is drawn for a death that was not euthanasia")
    named = desk.pharmacy.registered()
    said = death.drug.strip().casefold()
    if death.euthanased and said in {d.casefold() for d in named} and not draws and not unbooked:
        yield Problem("vial.0", f"{death.drug} is in the register: which vial did it come from?")
    if death.euthanased and unbooked and not said:
        yield Problem("drug", "which drug was it? it stays open in the register until booked")
    marks = [mark for mark, _ in draws]
    if len(marks) != len(set(marks)):
        yield Problem("vial.1", "the same vial twice: add the volumes up")
    for n, move in enumerate(_moves(desk, ref, death, draws, why)):
        fields = {"volume_ml": f"drawn.{n}", "vial": "why", "reason": "why"}
        for problem in desk.pharmacy.problems(move):
            yield Problem(fields.get(problem.field, "on"), problem.message)


def record_death(
    desk: Casework, ref: str, death: Death, draws: tuple[Draw, ...], why: str
) -> Saved:
    """Write the death, then its draws.

    A draw that cannot be written is no reason to say the death was not; `unwritten` tells of it.
    """
    moves = _moves(desk, ref, death, draws, why or EUTHANASIA)
    saved = desk.record(ref, death)
    missed = []
    for move in moves:
        try:
            desk.pharmacy.write(move)
        except FieldnotesError as error:
            drawn = f"{move.volume_ml:g} mL from vial {move.vial}"
            missed.append(f"{drawn} not booked in the controlled-drug register: {error}")
    return replace(saved, unwritten="; ".join(missed))


def _moves(
    desk: Casework, ref: str, death: Death, draws: tuple[Draw, ...], why: str
) -> tuple[VialMove, ...]:
    case = desk.case(ref)
    return tuple(
        VialMove(
            mark, MoveKind.DRAWN, volume, _moment(desk, mark, death.on), desk.author(),
            case=case.ref, horse=case.opened.horse, reason=why,
        )
        for mark, volume in draws
    )  # fmt: skip


def _moment(desk: Casework, mark: str, on: dt.date) -> dt.datetime:
    """Give when it was drawn: now, or the end of an earlier day, after the vial came in."""
    now = desk.now()
    if on >= now.date():
        return now
    last = now.replace(year=on.year, month=on.month, day=on.day, hour=23, minute=59)
    return max(last, desk.pharmacy.account(mark).vial.received_at)
