"""From a drug and a weight to amount, volume or tablets, sites and limits; sources side by side."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.clinical.dose_limits import OVER, limit_texts, matching, range_warning, site_count
from fieldnotes.clinical.dose_limits import site_limits as _site_limits
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.knowledge.ages import is_foal

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.knowledge.drugs import Drug, Regimen, Strength

WEIGHT_KG = (2.0, 1600.0)  # lighter or heavier than any living equid: a typing mistake
_MICROGRAM_SIGN = 100.0  # a typed dose this many times over the published must be micrograms
_FITS = 3.0
_WEIGHT_ROUNDING = 1e-6
TYPED = "typed"
MISCOUNTED = 0.5  # whole pieces further off the dose are another dose (practice default)
MOST_TOLD = 12  # a longer list of doses and strengths is told dose by dose
SAME_DOSE = 0.02  # how sources round: 0.5 mg/lb, 1.1 mg/kg and 1 mL to 45 kg are one dose


@dataclass(frozen=True)
class DoseOption:
    """One way to give it: a regimen at one end of its range with one strength.

    `volume_ml` for liquids; for all else `units` (exact quotient) of `unit_name`, with
    `units_rounded` and the dose per kg that the rounded count really gives where it is counted.
    `in_all` is an amount for the animal whatever it weighs.
    """

    route: str
    label: str
    end: str
    per_kg: float
    unit: str
    amount: float
    interval_h: float | None
    interval_most_h: float | None
    doses: int | None
    days: float | None
    strength: Strength
    volume_ml: float | None
    units: float | None
    unit_name: str
    units_rounded: float | None
    per_kg_rounded: float | None
    sites: int | None
    each_ml: float | None
    site_ml: float | None
    limits: tuple[str, ...]
    source: str
    changed: str = ""
    chosen: str = ""
    in_all: bool = False

    @property
    def over(self) -> tuple[str, ...]:
        """The published limits it passes; each needs the vet's typed reason."""
        return tuple(text.removeprefix(OVER) for text in self.limits if text.startswith(OVER))


@dataclass(frozen=True)
class Dose:
    """All options of a drug for one animal, with what must be said about them."""

    drug: Drug
    weight_kg: float
    options: tuple[DoseOption, ...]
    warnings: tuple[str, ...]


def checked_weight(weight_kg: float, field: str = "weight_kg") -> float:
    """Give the weight; RefusedInputError if no horse can weigh that."""
    if not math.isfinite(weight_kg) or not WEIGHT_KG[0] <= weight_kg <= WEIGHT_KG[1]:
        low, high = WEIGHT_KG
        raise RefusedInputError(field, f"{weight_kg:g} kg is not within {low:g} to {high:g} kg")
    return weight_kg


def _rounded(units: float, step: float) -> float:
    """Round to the nearest countable part, half up, never to nothing."""
    return max(step, math.floor(units / step + 0.5) * step)


def _counted(option: DoseOption, weight_kg: float) -> DoseOption:
    strength = option.strength
    units = option.amount / strength.amount
    if strength.step is None:
        return replace(option, units=units)
    rounded = _rounded(units, strength.step)
    return replace(
        option,
        units=units,
        units_rounded=rounded,
        per_kg_rounded=rounded * strength.amount / weight_kg,
    )


def _measured(option: DoseOption, drug: Drug, age_days: int | None) -> DoseOption:
    volume = option.amount / option.strength.amount
    sited = _site_limits(drug, option.route, age_days, option.site_ml)
    sites = site_count(volume, sited[0][0]) if sited else 1
    return replace(option, volume_ml=volume, sites=sites, each_ml=volume / sites)


def _option(
    drug: Drug,
    regimen: Regimen,
    strength: Strength,
    weight_kg: float,
    *,
    end: str,
    value: float,
    age_days: int | None,
) -> DoseOption:
    amount = value * weight_kg if regimen.per_kg else value
    option = DoseOption(
        route=regimen.route,
        label=regimen.label,
        end=end,
        per_kg=amount / weight_kg if not regimen.per_kg else value,
        unit=drug.unit,
        amount=amount,
        interval_h=regimen.interval_h,
        interval_most_h=regimen.interval_most_h,
        doses=regimen.doses,
        days=regimen.days,
        strength=strength,
        volume_ml=None,
        units=None,
        unit_name=strength.per,
        units_rounded=None,
        per_kg_rounded=None,
        sites=None,
        each_ml=None,
        site_ml=regimen.site_ml,
        limits=(),
        source=regimen.source,
        changed=regimen.changed,
        chosen=regimen.chosen,
        in_all=not regimen.per_kg,
    )
    liquid = strength.per == "mL"
    full = _measured(option, drug, age_days) if liquid else _counted(option, weight_kg)
    return replace(
        full, limits=_label_weight(regimen, weight_kg) + limit_texts(drug, full, age_days)
    )


def _label_weight(regimen: Regimen, weight_kg: float) -> tuple[str, ...]:
    if regimen.weight_kg is None:
        return ()
    low, high = regimen.weight_kg
    inside = low - _WEIGHT_ROUNDING <= weight_kg <= high + _WEIGHT_ROUNDING
    words = f"label: for {low:.0f} to {high:.0f} kg"
    return (words,) if inside else (f"{OVER}{words}; this animal weighs {weight_kg:g} kg",)


def _ends(regimen: Regimen) -> tuple[tuple[str, float], ...]:
    if regimen.low == regimen.high:
        return (("", regimen.low),)
    return (("low", regimen.low), ("high", regimen.high))


def _strengths(drug: Drug, regimen: Regimen) -> Iterator[Strength]:
    for strength in drug.strengths:
        if regimen.route not in strength.routes:
            continue
        if not regimen.forms or any(strength.form.startswith(f) for f in regimen.forms):
            yield strength


def _published(drug: Drug, route: str | None, age_days: int | None) -> tuple[Regimen, ...]:
    return tuple(r for r in drug.regimens if route in {None, r.route} and r.fits_age(age_days))


def _typed(
    drug: Drug, weight_kg: float, per_kg: float, route: str | None, age_days: int | None
) -> tuple[DoseOption, ...]:
    """Give one option per route and strength for a dose the vet typed."""
    options = []
    for each in dict.fromkeys(r.route for r in drug.regimens if route in {None, r.route}):
        regimens = tuple(r for r in drug.regimens if r.route == each)
        near = matching(regimens, per_kg)
        own = replace(near, per_kg=True, forms=(), weight_kg=None)
        options += [
            _option(drug, own, s, weight_kg, end=TYPED, value=per_kg, age_days=age_days)
            for s in _strengths(drug, own)
        ]
    return tuple(options)


def _as_listed(
    drug: Drug, weight_kg: float, route: str | None, age_days: int | None
) -> tuple[DoseOption, ...]:
    return tuple(
        _option(drug, regimen, strength, weight_kg, end=end, value=value, age_days=age_days)
        for regimen in _published(drug, route, age_days)
        for strength in _strengths(drug, regimen)
        for end, value in _ends(regimen)
    )


def _check_route(drug: Drug, route: str | None) -> None:
    routes = tuple(dict.fromkeys(r.route for r in drug.regimens))
    if not routes:
        raise RefusedInputError("drug", f"no dose of {drug.name} is held here, the vet types it")
    if route is not None and route not in routes:
        never = "; ".join(c.text for c in drug.notes("route"))
        reason = f"no dose of {drug.name} {route} is published here (only {', '.join(routes)})"
        raise UnknownNameError("route", f"{reason}{': ' + never if never else ''}", routes)


def read_per_kg(drug: Drug, per_kg: float, unit: str | None = None) -> tuple[float, str | None]:
    """Give a typed dose per kg in the drug's unit, and a sentence where it was converted.

    A plain number a hundredfold over everything published that fits as micrograms is read
    as micrograms, and says so: sedatives are spoken of in ug/kg.
    """
    if not math.isfinite(per_kg) or per_kg <= 0:
        raise RefusedInputError("per_kg", f"{per_kg:g} is no dose")
    if unit == "ug" and drug.unit == "mg":
        return per_kg / 1000, None
    if unit is not None and unit != drug.unit:
        raise RefusedInputError("per_kg", f"{drug.name} is dosed in {drug.unit}, not {unit}")
    doses = [x for r in drug.regimens if r.per_kg for x in (r.low, r.high)]
    if unit is None and drug.unit == "mg" and doses and per_kg > max(doses) * _MICROGRAM_SIGN:
        small = per_kg / 1000
        if min(doses) / _FITS <= small <= max(doses) * _FITS:
            return small, f"{per_kg:g} was read as {per_kg:g} ug/kg = {small:g} mg/kg"
    return per_kg, None


def _warnings(drug: Drug, options: tuple[DoseOption, ...], age_days: int | None) -> list[str]:
    said = []
    for option in options:
        regimens = tuple(r for r in drug.regimens if r.route == option.route)
        outside = range_warning(regimens, option.per_kg, option.unit)
        if outside and option.end == TYPED:
            said.append(outside)
        said += [f"{option.route} {option.label}: {text}" for text in option.over]
    said += [f"{c.text} ({c.source})" for c in drug.notes("route")]
    if age_days is None and any(r.age_days for r in drug.regimens):
        said.append("foal doses differ: give the age in days to see them")
    if is_foal(age_days):
        said.append("a foal: doses not marked for foals are adult doses")
        said += [f"foal: {c.text} ({c.source})" for c in drug.notes("foal")]
    if any(r.unsourced for r in drug.regimens if r.route in {o.route for o in options}):
        said.append("some doses are from memory: confirm them against the label first")
    return list(dict.fromkeys(said))


def dose(
    drug: Drug,
    weight_kg: float,
    *,
    per_kg: float | None = None,
    route: str | None = None,
    age_days: int | None = None,
    species: str = "horse",
) -> Dose:
    """Reckon all options of a drug for an animal of `weight_kg`; `per_kg` in the drug's unit.

    amount = dose per kg x weight; volume = amount / strength; over a limit it warns and never
    refuses. RefusedInputError for an impossible weight or a route without a published dose.
    """
    checked_weight(weight_kg)
    _check_route(drug, route)
    if per_kg is None:
        options = _as_listed(drug, weight_kg, route, age_days)
    else:
        options = _typed(drug, weight_kg, per_kg, route, age_days)
    warnings = _warnings(drug, options, age_days)
    if species != "horse":
        warnings.insert(0, f"these doses are published for horses, not for a {species}")
    return Dose(drug, weight_kg, options, tuple(warnings))


def told_apart(options: tuple[DoseOption, ...], kept: int | None = None) -> tuple[int, ...]:
    """Give the numbers of the options that differ in more than how a source rounds.

    Pieces too large to count the dose out of are left where smaller ones hold it. The practice's
    own, and the one `kept`, always stand.
    """
    shown: list[int] = []
    counted = {_dosed(o) for o in options if not _miscounted(o)}
    for n, option in enumerate(options):
        own = bool(option.changed or option.chosen or option.strength.changed) or n == kept
        too_large = _miscounted(option) and _dosed(option) in counted
        if own or not (too_large or any(_alike(options[m], option) for m in shown)):
            shown.append(n)
    return tuple(shown)


def first_of_each(
    options: tuple[DoseOption, ...], numbers: tuple[int, ...], held: DoseOption | None
) -> tuple[int, ...]:
    """Give of a long list one strength of each dose, every one of the dose `held` and the own."""
    if len(numbers) <= MOST_TOLD:
        return numbers
    first: dict[tuple[str, str, str], int] = {}
    for n in numbers:
        first.setdefault(_dosed(options[n]), n)
    return tuple(
        n
        for n in numbers
        if n in first.values()
        or (held is not None and _dosed(options[n]) == _dosed(held))
        or options[n].strength.changed
    )


def _dosed(option: DoseOption) -> tuple[str, str, str]:
    return option.route, option.label, option.end


def _miscounted(option: DoseOption) -> bool:
    if option.units_rounded is None or not option.units:
        return False
    return abs(option.units_rounded / option.units - 1) > MISCOUNTED


def _alike(one: DoseOption, other: DoseOption) -> bool:
    ways = [
        (o.route, o.end, o.interval_h, o.interval_most_h, o.doses, o.days, o.strength, o.in_all,
         bool(o.over))
        for o in (one, other)
    ]  # fmt: skip
    return ways[0] == ways[1] and math.isclose(one.per_kg, other.per_kg, rel_tol=SAME_DOSE)
