"""Body weight from tape measures, by build; never one species' formula for another."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.domain.units import CM_PER_IN, in_from_cm, kg_from_lb

if TYPE_CHECKING:
    from fieldnotes.knowledge.weights import Formula, Weights

NO_FORMULA = ("mule", "hinny")
LEAP = 0.2  # practice default: a tape is off by up to this; more is a slip or another animal


@dataclass(frozen=True)
class Tape:
    """What was measured, in cm; None was not."""

    girth_cm: float | None = None
    length_cm: float | None = None
    height_cm: float | None = None
    neck_cm: float | None = None
    umbilical_cm: float | None = None

    def of(self, measure: str) -> float | None:
        """Give one measure by its name."""
        value: float | None = getattr(self, f"{measure}_cm")
        return value


@dataclass(frozen=True)
class Estimate:
    """One formula's weight in kg."""

    weight_kg: float
    formula: str
    error: str
    source: str


@dataclass(frozen=True)
class WeightEstimate:
    """The chosen formula's weight, what other formulas of the species give, and warnings."""

    chosen: Estimate
    others: tuple[Estimate, ...]
    ideal: Estimate | None
    neck_height_ratio: float | None
    warnings: tuple[str, ...]


def evaluate(formula: Formula, tape: Tape) -> float:
    """Give a formula's weight in kg; the measures it needs must be there."""

    def value(measure: str) -> float:
        cm = tape.of(measure)
        if cm is None:
            raise RefusedInputError(measure, f"{formula.text} needs it")
        return cm if formula.units == "cm" else in_from_cm(cm)

    total = formula.constant
    if formula.power:
        total += math.prod(value(name) ** power for name, power in formula.power)
    total += sum(factor * value(name) for name, factor in formula.factors)
    weight = total / formula.divisor
    return weight if formula.units == "cm" else kg_from_lb(weight)


def _check_measure(weights: Weights, build: str, measure: str, cm: float) -> None:
    for row in weights.readable:
        if build not in row.builds or row.measure != measure or row.low_cm <= cm <= row.high_cm:
            continue
        hint = ""
        if row.low_cm <= cm * CM_PER_IN <= row.high_cm:
            hint = f"; {cm:g} in would be {cm * CM_PER_IN:.0f} cm: was it inches?"
        elif row.low_cm <= cm / CM_PER_IN <= row.high_cm:
            hint = f"; {cm / CM_PER_IN:.0f} cm would fit: was it centimetres?"
        raise RefusedInputError(
            measure,
            f"{cm:.4g} cm is not within {row.low_cm:g} to {row.high_cm:g} cm for this build{hint}",
        )


def _check_tape(weights: Weights, build: str, tape: Tape) -> None:
    for measure in dict.fromkeys(r.measure for r in weights.readable):
        cm = tape.of(measure)
        if cm is None:
            continue
        if not math.isfinite(cm) or cm <= 0:
            raise RefusedInputError(measure, f"{cm:g} is no length")
        _check_measure(weights, build, measure, cm)


def check_build(weights: Weights, build: str) -> None:
    """Refuse a build without a formula; a mule's weight is measured or typed."""
    if build in NO_FORMULA:
        raise RefusedInputError(
            "build", f"no weight formula is published for a {build}: weigh it or type the weight"
        )
    if build not in weights.builds:
        names = ", ".join(weights.builds)
        raise UnknownNameError("build", f"'{build}' is not one of {names}", weights.builds)


def check_species(weights: Weights, build: str, species: str) -> None:
    """Refuse a build whose formula was made for another species than the animal's."""
    check_build(weights, species if species in NO_FORMULA else build)
    made_for = {f.species for f in weights.formulas if f.build == build}
    if species not in made_for:
        raise RefusedInputError(
            "build", f"the {build} formula was made for a {', '.join(made_for)}, not a {species}"
        )


def _fits(formula: Formula, age_days: int | None) -> bool:
    if formula.age_days is None:
        return True
    return age_days is not None and formula.age_days[0] <= age_days <= formula.age_days[1]


def _chosen(weights: Weights, build: str, tape: Tape, age_days: int | None) -> Formula:
    first = [f for f in weights.formulas if f.build == build and f.first]
    fitting = [f for f in first if _fits(f, age_days)]
    if not fitting:
        ages = ", ".join(f"{f.age_days[0]}-{f.age_days[1]}" for f in first if f.age_days)
        reason = "is needed" if age_days is None else f"{age_days} has no formula"
        raise RefusedInputError("age-days", f"{reason}; formulas are for {ages} days")
    missing = [m for m in fitting[0].needs if tape.of(m) is None]
    if missing:
        raise RefusedInputError(missing[0], f"needed for {fitting[0].text}")
    return fitting[0]


def _estimate(formula: Formula, tape: Tape) -> Estimate:
    return Estimate(evaluate(formula, tape), formula.text, formula.error, formula.source)


def _others(
    weights: Weights, chosen: Formula, tape: Tape, age_days: int | None
) -> tuple[Estimate, ...]:
    return tuple(
        _estimate(f, tape)
        for f in weights.formulas
        if f.build == chosen.build
        and f.id != chosen.id
        and _fits(f, age_days)
        and all(tape.of(m) is not None for m in f.needs)
    )


def _ideal(weights: Weights, build: str, tape: Tape) -> Estimate | None:
    for formula in weights.ideals:
        if formula.build == build and all(tape.of(m) is not None for m in formula.needs):
            return _estimate(formula, tape)
    return None


def _warnings(weights: Weights, chosen: Formula, kg: float, ratio: float | None) -> tuple[str, ...]:
    said = []
    if chosen.range_kg and not chosen.range_kg[0] <= kg <= chosen.range_kg[1]:
        low, high = chosen.range_kg
        said.append(f"{kg:.0f} kg lies outside the {low:g} to {high:g} kg it was made from")
    if ratio is not None and ratio > weights.cresty_ratio:
        limit, source = weights.cresty_ratio, weights.cresty_source
        said.append(f"neck to height {ratio:.3f} is over {limit:g}: cresty neck ({source})")
    return tuple(said)


def estimate_weight(
    weights: Weights, build: str, tape: Tape, age_days: int | None = None
) -> WeightEstimate:
    """Estimate body weight for a build; RefusedInputError names the measure at fault."""
    check_build(weights, build)
    _check_tape(weights, build, tape)
    formula = _chosen(weights, build, tape, age_days)
    chosen = _estimate(formula, tape)
    if chosen.weight_kg <= 0:
        raise RefusedInputError("girth", f"{formula.text} gives no weight for it")
    neck, height = tape.neck_cm, tape.height_cm
    ratio = neck / height if neck is not None and height else None
    return WeightEstimate(
        chosen=chosen,
        others=_others(weights, formula, tape, age_days),
        ideal=_ideal(weights, build, tape),
        neck_height_ratio=ratio,
        warnings=_warnings(weights, formula, chosen.weight_kg, ratio),
    )


def leap_words(kg: float, known_kg: float) -> str:
    """Say how far a weight lies from the one on record where that is far; empty otherwise."""
    off = (kg - known_kg) / known_kg
    if abs(off) <= LEAP:
        return ""
    return f"{abs(off) * 100:.0f} % {'more' if off > 0 else 'less'} than on record"
