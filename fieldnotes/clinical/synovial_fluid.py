"""Synovial fluid against its cut-offs: they raise an alarm, they never clear one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    from fieldnotes.knowledge.synovial_fluid import Cutoff, SynovialTable

G_PER_L_OF_G_PER_DL = 10.0
CELLS_PER_NL_OF_PER_UL = 0.001


@dataclass(frozen=True)
class Sample:
    """One sample; None = not measured. `readable` is newsprint seen through it."""

    cells_per_nl: float | None = None
    neutrophils_percent: float | None = None
    protein_g_per_l: float | None = None
    plasma_protein_g_per_l: float | None = None
    readable: bool | None = None


@dataclass(frozen=True)
class SampleNote:
    """One measure as judged; `level` is septic, suspicious or below cut-offs."""

    measure: str
    value: float
    level: str
    why: str
    source: str


@dataclass(frozen=True)
class SynovialAssessment:
    """`alarm` is septic, suspicious or none raised; `caution` always stands beside it."""

    alarm: str
    notes: tuple[SampleNote, ...]
    caution: str
    source: str


def _note(cutoff: Cutoff, value: float) -> SampleNote:
    if not math.isfinite(value) or value < 0:
        raise RefusedInputError(cutoff.id, f"{value:g} is no {cutoff.words}")
    level = "below cut-offs"
    if value >= cutoff.grey_from:
        level = "septic" if value > cutoff.septic_from else "suspicious"
    why = f"{cutoff.words} {value:g} {cutoff.unit}; septic over {cutoff.septic_from:g}"
    if cutoff.normal_of_plasma is not None:
        low, high = (share * 100 for share in cutoff.normal_of_plasma)
        why += f"; normal is {low:.0f} to {high:.0f} % of the plasma's"
    return SampleNote(cutoff.id, value, level, why, cutoff.source)


def _notes(table: SynovialTable, sample: Sample) -> tuple[SampleNote, ...]:
    notes = [
        _note(cutoff, value)
        for cutoff in table.measures
        if (value := getattr(sample, cutoff.id)) is not None
    ]
    if sample.readable is False:
        notes.append(
            SampleNote("readable", 0.0, "septic", table.unreadable, table.unreadable_source)
        )
    return tuple(notes)


def assess_sample(table: SynovialTable, sample: Sample) -> SynovialAssessment:
    """Judge a sample by its worst measure; nothing here ever says that a joint is clean."""
    if sample.neutrophils_percent is not None and sample.neutrophils_percent > 100:
        raise RefusedInputError("neutrophils_percent", "cannot be over 100 %")
    notes = _notes(table, sample)
    levels = {n.level for n in notes}
    alarm = next((x for x in ("septic", "suspicious") if x in levels), "none raised")
    return SynovialAssessment(alarm, notes, table.never, table.never_source)
