"""Cautions about drugs: what must not go together, and doses outside what is published."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.casework.caution import Caution
from fieldnotes.casework.treatments import (
    Placed,
    known_drug,
    overlapping,
    patient_of,
    placed_drugs,
    recorded,
)
from fieldnotes.clinical.dose_limits import OVER, limit_texts, range_warning
from fieldnotes.clinical.doses import DoseOption, dose
from fieldnotes.clinical.interactions import check_treatments
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.domain.patients import Species

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from fieldnotes.casework.caution import Bedside
    from fieldnotes.clinical.interactions import Finding as RuleFinding
    from fieldnotes.clinical.patient_facts import Patient, Treatment
    from fieldnotes.domain.entries import Visit
    from fieldnotes.knowledge.drugs import Drug
    from fieldnotes.knowledge.library import Library

ADDING = ("total", "course")  # kinds of rule that add up all doses of one drug
_SAME = 0.01
ROUNDED = 0.05  # practice default: what whole marks of a syringe or whole tablets may add


def interaction_cautions(
    bed: Bedside, visit: Visit, on_wounds: Iterable[Placed]
) -> Iterator[Caution]:
    """Give every rule that holds through something of this visit, at the item that brings it in.

    What the vet gives last is where the reason belongs: what stands on record already, or was
    given by another, is a fact.
    """
    patient = patient_of(bed, visit)
    placed = sorted((*placed_drugs(visit, bed.library), *on_wounds), key=lambda p: p.own)
    before = overlapping(recorded(bed), visit.at, bed.library)
    everything = (*before, *(p.treatment for p in placed))
    found: dict[tuple[str, str, frozenset[str]], tuple[RuleFinding, Placed]] = {}
    for item in placed:
        for finding in _about(item.treatment, everything, patient, bed.library):
            key = (finding.rule, finding.level, frozenset(finding.drugs))
            found.pop(key, None)
            found[key] = (finding, item)
    for finding, item in found.values():
        yield _from_rule(finding, item, bed)


def _about(
    one: Treatment, everything: tuple[Treatment, ...], patient: Patient, library: Library
) -> Iterator[RuleFinding]:
    """Give the findings that this treatment itself brings in, not an earlier dose of its drug."""
    tables, drugs = library.interactions, library.drugs
    adding = {r.id for r in tables.rules if r.kind in ADDING}
    drug = known_drug("", one.drug, library)
    name = drug.name if drug else one.drug
    for finding in check_treatments(tables, drugs, patient, _beside(one, everything)):
        if name in finding.drugs and finding.rule not in adding:
            yield finding
    same = tuple(t for t in everything if t.drug == one.drug)
    for finding in check_treatments(tables, drugs, patient, same):
        if finding.rule in adding:
            yield finding


def _beside(one: Treatment, everything: tuple[Treatment, ...]) -> tuple[Treatment, ...]:
    """Give a treatment among the doses of other drugs that lie nearest to it, one for each way.

    Nearer is never less strict, and a hospital week of doses would be thousands of pairs.
    """
    nearest: dict[tuple[str, str, tuple[str, ...]], Treatment] = {}
    for t in everything:
        way = (t.drug, t.route, t.near)
        if t.drug != one.drug and (
            way not in nearest or _apart(one, t) < _apart(one, nearest[way])
        ):
            nearest[way] = t
    kept = {id(t) for t in (one, *nearest.values())}
    return tuple(t for t in everything if id(t) in kept)


def _apart(one: Treatment, two: Treatment) -> dt.timedelta:
    """Give the time between two courses, none where they overlap."""
    first, second = sorted((one, two), key=lambda t: t.start)
    return max(dt.timedelta(0), second.start - first.last)


def _from_rule(finding: RuleFinding, item: Placed, bed: Bedside) -> Caution:
    kinds = {r.id: r.kind for r in bed.library.interactions.rules}
    why = finding.why
    if bed.horse.species is not Species.HORSE and kinds.get(finding.rule) in ADDING:
        why += f" - published for horses, not for a {bed.horse.species}"
    hard = finding.level == "block" and item.own
    if hard and finding.needs_reason and item.drug is None:
        hard = False
    level = "warn" if finding.level == "block" and not hard else finding.level
    return Caution(
        level=level,
        field=item.field,
        why=why,
        source=finding.source,
        needs_reason=hard and finding.needs_reason and not item.reason.strip(),
        remedy=finding.remedy if hard else "",
    )


def dose_cautions(bed: Bedside, visit: Visit) -> Iterator[Caution]:
    """Give each dose outside its published range or over a limit; it needs a typed reason.

    Without a weight nothing is reckoned, and no horse's limit is put on a donkey or mule: both
    are said once.
    """
    placed = [p for p in placed_drugs(visit, bed.library) if p.own and p.drug is not None]
    if not placed:
        return
    weight = bed.horse.weight()
    if bed.horse.species is not Species.HORSE:
        why = f"doses here are published for horses, none for a {bed.horse.species}: not checked"
        yield Caution("warn", f"{placed[0].path}.amount", why, "no published limit")
    elif weight is None:
        why = "no body weight on record: the dose is not checked and no volume is reckoned"
        yield Caution("warn", f"{placed[0].path}.amount", why, "no body weight")
    else:
        age = bed.horse.age_days(visit.at.date())
        for item in placed:
            yield from dose_faults(item, weight.kg, age, bed.library)
    if bed.horse.species is Species.HORSE:
        yield from _daily(bed, visit, placed)


def _daily(bed: Bedside, visit: Visit, placed: list[Placed]) -> Iterator[Caution]:
    """Add each drug over a day, in all its forms, against the most a day that is published."""
    before = overlapping(recorded(bed), visit.at, bed.library)
    everything = (*before, *(p.treatment for p in placed))
    for drug_id, item in {p.treatment.drug: p for p in placed}.items():
        drug = known_drug("", drug_id, bed.library)
        limits = [x for x in drug.limits if x.kind == "per_day"] if drug else []
        if drug is None or not limits:
            continue
        most = min(limits, key=lambda x: x.value)
        amounts = _by_day(t for t in everything if t.drug == drug_id)
        first, last = item.treatment.start.date(), item.treatment.last.date()
        amount = max(n for day, n in amounts.items() if first <= day <= last)
        if amount > most.value:
            why = f"{amount:,.0f} {drug.unit} in one day, at most {most.value:,.0f} ({most.label})"
            missing = not item.reason.strip()
            yield Caution("block", item.field, f"{drug.name}: {why}", most.source, missing)


def _by_day(treatments: Iterable[Treatment]) -> dict[dt.date, float]:
    """Give the amount of all doses that fall on each day."""
    amounts: dict[dt.date, float] = defaultdict(float)
    for t in treatments:
        for n in range(t.doses):
            when = t.start + dt.timedelta(hours=(t.interval_h or 0) * n)
            amounts[when.date()] += t.amount or 0
    return amounts


def dose_faults(
    item: Placed, weight_kg: float, age_days: int | None, library: Library
) -> Iterator[Caution]:
    """Give how one dose of a horse lies outside its published range, and each limit it passes."""
    treatment = item.treatment
    drug = known_drug("", treatment.drug, library)
    if drug is None or not drug.regimens:
        yield Caution("note", f"{item.path}.name", "no published dose is held here", "not listed")
        return
    if treatment.amount is None or treatment.amount <= 0:
        return
    per_kg = treatment.amount / weight_kg
    try:
        options = dose(
            drug, weight_kg, per_kg=per_kg, route=treatment.route, age_days=age_days
        ).options
    except UnknownNameError as error:
        yield Caution("warn", f"{item.path}.route", error.reason, drug.source)
        return
    except RefusedInputError as error:
        yield Caution("warn", f"{item.path}.amount", error.reason, drug.source)
        return
    missing = not item.reason.strip()
    outside = _out_of_range(drug, treatment, per_kg, age_days)
    if outside and _by_rounding(drug, treatment, per_kg, age_days):
        yield Caution("note", item.field, f"{drug.name}: {outside}, by rounding", drug.source)
    elif outside:
        yield Caution("block", item.field, f"{drug.name}: {outside}", drug.source, missing)
    for why in _over(drug, item, options, age_days):
        yield Caution("block", item.field, f"{drug.name}: {why}", drug.source, missing)


def _out_of_range(
    drug: Drug, treatment: Treatment, per_kg: float, age_days: int | None
) -> str | None:
    """Say how a dose lies outside its route's range; a ceiling has nothing below it."""
    regimens = tuple(r for r in drug.regimens if r.route == treatment.route)
    fitting = tuple(r for r in regimens if r.fits_age(age_days))
    ceiling = any(x.kind == "total_per_kg" for x in drug.limits)
    if ceiling and per_kg <= max(r.high for r in fitting):
        return None
    return range_warning(fitting, per_kg, drug.unit)


def _by_rounding(drug: Drug, treatment: Treatment, per_kg: float, age_days: int | None) -> bool:
    """Tell whether the dose is as near as whole divisions of a syringe come to its range."""
    fitting = [
        r for r in drug.regimens if r.per_kg and r.route == treatment.route and r.fits_age(age_days)
    ]
    least = min(r.low for r in fitting) * (1 - ROUNDED)
    return least <= per_kg <= max(r.high for r in fitting) * (1 + ROUNDED)


def _over(
    drug: Drug, item: Placed, options: tuple[DoseOption, ...], age_days: int | None
) -> Iterator[str]:
    """Give each limit one dose passes whichever strength it was drawn from."""
    passed = [
        {
            text.removeprefix(OVER)
            for text in limit_texts(drug, replace(option, interval_h=None), age_days)
            if text.startswith(OVER)
        }
        for option in _drawn(item, options)
    ]
    if passed:
        yield from sorted(set.intersection(*passed))


def _drawn(item: Placed, options: tuple[DoseOption, ...]) -> tuple[DoseOption, ...]:
    """Give the options of the strength that was drawn up, all of them if it is not known."""
    volume = getattr(item.drug, "volume_ml", None)
    if not volume:
        return options
    fitting = tuple(
        o for o in options if o.volume_ml and abs(o.volume_ml - volume) <= _SAME * volume
    )
    return fitting or options
