"""Vital signs, lameness and grimace entries against ranges by species and age class."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.patients import OwnLimits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.domain.entries import Vitals
    from fieldnotes.knowledge.vitals import VitalRange, VitalTables

NONE_TYPED = OwnLimits()
TYPED = "typed by the vet for this animal"
NOT_KNOWN = "no sourced limit: the vet types one"
MEASURES = ("temperature_c", "heart_per_min", "breaths_per_min")


@dataclass(frozen=True)
class VitalNote:
    """One vital sign as judged; `state` is low, normal, high or no limit."""

    measure: str
    value: float
    state: str
    limits: tuple[float, float] | None
    source: str


def range_for(tables: VitalTables, species: str, age_days: int | None) -> VitalRange | None:
    """Give the class's ranges; unknown age counts as adult, None where nothing is sourced."""
    own = [r for r in tables.ranges if r.species == species]
    for row in own:
        if age_days is not None and row.age_days[0] <= age_days <= row.age_days[1]:
            return row
    return max(own, key=lambda r: r.age_days[1], default=None)


def _state(value: float, limits: tuple[float, float]) -> str:
    if value < limits[0]:
        return "low"
    return "high" if value > limits[1] else "normal"


def _limits(
    measure: str, row: VitalRange | None, own: OwnLimits
) -> tuple[tuple[float, float] | None, str]:
    typed = getattr(own, measure)
    if typed is not None:
        return typed, TYPED
    return (getattr(row, measure), row.source) if row is not None else (None, NOT_KNOWN)


def _judged(vitals: Vitals, row: VitalRange | None, own: OwnLimits) -> Iterator[VitalNote]:
    for measure in MEASURES:
        value = getattr(vitals, measure)
        if value is not None:
            limits, source = _limits(measure, row, own)
            state = "no limit" if limits is None else _state(value, limits)
            yield VitalNote(measure, value, state, limits, source)


def check_vitals(
    tables: VitalTables,
    vitals: Vitals,
    species: str,
    age_days: int | None,
    own: OwnLimits = NONE_TYPED,
) -> tuple[VitalNote, ...]:
    """Judge what was taken; `own` are limits the vet typed, and the only ones for a donkey."""
    notes = list(_judged(vitals, range_for(tables, species, age_days), own))
    if vitals.crt_s is not None:
        limits = (0.0, tables.refill_most_s)
        state = "normal" if vitals.crt_s <= limits[1] else "high"
        notes.append(VitalNote("crt_s", vitals.crt_s, state, limits, tables.refill_source))
    return tuple(notes)


def grimace_total(tables: VitalTables, scores: tuple[int, ...]) -> int:
    """Add up the facial units, each 0 absent, 1 moderate, 2 obvious; refused if any is missing."""
    units, most = len(tables.grimace_units), tables.grimace_most
    if len(scores) != units:
        raise RefusedInputError("grimace", f"{units} units are scored, not {len(scores)}")
    if any(not 0 <= s <= most for s in scores):
        raise RefusedInputError("grimace", f"each unit is 0 to {most}")
    return sum(scores)
