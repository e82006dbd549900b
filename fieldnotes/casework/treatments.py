"""Every drug the animal got or gets, by anyone, and the animal itself, as the rules see them."""

from __future__ import annotations

import datetime as dt
import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.clinical.courses import dose_count
from fieldnotes.clinical.patient_facts import Patient, Treatment
from fieldnotes.domain.agreements import ConsentKind
from fieldnotes.domain.errors import UnknownNameError
from fieldnotes.domain.patients import FoodChain, TetanusHistory
from fieldnotes.knowledge.drugs import one_drug
from fieldnotes.knowledge.routes import one_route

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from fieldnotes.casework.caution import Bedside
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.entries import Visit
    from fieldnotes.domain.treatment import Care, DrugDispensed, DrugGiven
    from fieldnotes.knowledge.drugs import Drug
    from fieldnotes.knowledge.library import Library

MG_PER = {"mg": 1.0, "g": 1000.0, "ug": 0.001}
LONGEST_H = 24 * 366.0  # longer than any course: a typing mistake, which another check names
MOST_DOSES = 1000
POOR_HOLDS = dt.timedelta(days=3)  # practice default
UNNAMED = "an anti-inflammatory the owner gave"
_PERCENT = re.compile(r"(\d+(?:[.,]\d+)?) ?%")
_GOOD = ("good", "normal", "well", "ok", "moist")
_POOR = ("poor", "dehydrat", "dry", "tacky")


@dataclass(frozen=True)
class Placed:
    """A treatment with where it stands in the visit; `own` if the vet gives or leaves it."""

    treatment: Treatment
    path: str
    reason: str = ""
    own: bool = True
    drug: DrugGiven | DrugDispensed | None = None

    @property
    def field(self) -> str:
        """Where a reason is typed; what is put on a wound has no place for one."""
        return f"{self.path}.reason" if self.drug is not None else self.path


def known_drug(name: str, drug_id: str, library: Library) -> Drug | None:
    """Give the formulary's drug for a recorded one, by id or by its name."""
    for text in (drug_id, name):
        try:
            return one_drug(library.drugs, text)
        except UnknownNameError:
            continue
    return None


def route_id(text: str, library: Library) -> str:
    """Give a route's id however it was written; the text itself if it is none we know."""
    try:
        return one_route(library.routes, text).id
    except UnknownNameError:
        return text.strip()


def amount_in(amount: float | None, unit: str, drug: Drug | None) -> float | None:
    """Give an amount in the drug's own unit; None if it is not known or cannot be converted."""
    if amount is None or not math.isfinite(amount):
        return None
    if drug is None or unit == drug.unit:
        return amount
    if drug.unit == "mg" and unit in MG_PER:
        return amount * MG_PER[unit]
    return None


def _given(item: DrugGiven, library: Library) -> Treatment:
    drug = known_drug(item.name, item.drug, library)
    return Treatment(
        drug=drug.id if drug else item.name,
        route=route_id(item.route, library),
        start=item.at,
        last=item.at,
        amount=amount_in(item.amount, item.unit, drug),
        given_by=item.given_by,
    )


def _left(item: DrugDispensed, library: Library) -> Treatment:
    drug = known_drug(item.name, item.drug, library)
    known = 0 < item.interval_h <= LONGEST_H and 0 < item.days <= LONGEST_H / 24
    doses = min(dose_count(item.interval_h, item.days), MOST_DOSES) if known else 1
    every = item.interval_h if known else 0.0
    return Treatment(
        drug=drug.id if drug else item.name,
        route=route_id(item.route, library),
        start=item.starts,
        last=item.starts + dt.timedelta(hours=every * (doses - 1)),
        interval_h=every,
        doses=doses,
        amount=amount_in(item.amount, item.unit, drug),
        given_by="owner",
    )


def placed_drugs(visit: Visit, library: Library) -> tuple[Placed, ...]:
    """Give a visit's drugs; what owner or another vet gave is a fact and never `own`."""
    given = (
        Placed(_given(x, library), f"given.{n}", x.reason, x.given_by in {"", "vet"}, x)
        for n, x in enumerate(visit.given)
    )
    left = (
        Placed(_left(x, library), f"dispensed.{n}", x.reason, drug=x)
        for n, x in enumerate(visit.dispensed)
    )
    return (*given, *left)


def placed_on_wounds(
    visit: Visit, near: dict[str, tuple[str, ...]], library: Library
) -> Iterator[Placed]:
    """Give what was poured or put on each wound; `near` says what lies there, by wound."""
    for care in visit.care:
        for field, text, percent in _poured(care):
            for drug in _named_in(text, library):
                put = Treatment(
                    drug=drug,
                    route="topical",
                    start=visit.at,
                    last=visit.at,
                    percent=percent,
                    near=near.get(care.wound, ()),
                    classes=(drug,),
                )
                yield Placed(put, f"care.{care.wound}.{field}")


def _poured(care: Care) -> Iterator[tuple[str, str, float | None]]:
    if care.lavage is not None:
        fluid = care.lavage.fluid
        own = care.lavage.percent
        yield "lavage", fluid, own if own is not None else _percent_of(fluid)
    if care.topical:
        yield "topical", care.topical, _percent_of(care.topical)


def _percent_of(text: str) -> float | None:
    found = _PERCENT.search(text)
    return float(found[1].replace(",", ".")) if found else None


def _named_in(text: str, library: Library) -> Iterator[str]:
    said = text.casefold()
    words = {w for r in library.interactions.rules if r.kind == "place" for w in r.of}
    yield from sorted(w for w in words if w.partition("-")[0] in said)
    for drug in library.drugs:
        if "topical" in drug.classes and drug.name.casefold() in said:
            yield drug.id


def recorded(bed: Bedside) -> tuple[Treatment, ...]:
    """Give every drug of all the animal's visits, and an owner's unnamed anti-inflammatory."""
    library = bed.library
    drugs = tuple(p.treatment for v in bed.visits for p in placed_drugs(v, library))
    reported = {r.body.last_nsaid_at for c in bed.cases for r in c.reports if r.body.last_nsaid_at}
    unnamed = (
        Treatment(UNNAMED, "PO", when, when, given_by="owner", classes=("nsaid",))
        for when in sorted(reported)
        if not any(_explains(t, when, library) for t in drugs)
    )
    return tuple(sorted((*drugs, *unnamed), key=lambda t: t.start))


def _explains(treatment: Treatment, when: dt.datetime, library: Library) -> bool:
    drug = known_drug("", treatment.drug, library)
    a_dose = dt.timedelta(hours=treatment.interval_h or 1)
    during = treatment.start - dt.timedelta(hours=1) <= when <= treatment.last + a_dose
    return drug is not None and "nsaid" in drug.classes and during


def overlapping(
    treatments: Iterable[Treatment], at: dt.datetime, library: Library
) -> tuple[Treatment, ...]:
    """Give what still counts at a moment: each drug's doses that follow close on one another."""
    rules = library.interactions.rules
    window = dt.timedelta(hours=max(max(r.within_h, r.note_within_h) for r in rules))
    edges: dict[str, dt.datetime] = {}
    kept = []
    for t in sorted(treatments, key=lambda t: t.start, reverse=True):
        if t.start - window <= at and edges.get(t.drug, at) - t.last <= window:
            edges[t.drug] = min(t.start, edges.get(t.drug, at))
            kept.append(t)
    return tuple(reversed(kept))


def _hydration(visits: Iterable[Visit], at: dt.datetime) -> str:
    """Give good, poor or unknown from what was last written, the newest visit first.

    Good holds for the case, so that it is asked once; poor is asked again after some days.
    """
    last = next((v for v in visits if v.vitals.hydration), None)
    said = last.vitals.hydration.casefold() if last is not None else ""
    if last is not None and not said.startswith("not ") and any(word in said for word in _POOR):
        return "poor" if at - last.at <= POOR_HOLDS else "unknown"
    return "good" if any(word in said for word in (*_GOOD, "not d")) else "unknown"


def food_chain(bed: Bedside) -> FoodChain:
    """Give the animal's status; a lasting exclusion counts once its document's date is recorded."""
    excluded = any(
        c.body.kind is ConsentKind.FOOD_CHAIN and c.body.given and c.body.document_on is not None
        for case in bed.cases
        for c in case.consents
    )
    return FoodChain.EXCLUDED if excluded else bed.horse.food_chain


def _conditions(bed: Bedside, visit: Visit) -> tuple[str, ...]:
    """Give what was ticked and still holds, and what the record's own words of the animal say."""
    tables = bed.library.interactions
    asked = {fact for r in tables.rules for fact in r.facts}
    said = " ; ".join(bed.horse.conditions).casefold()
    found = {fact for fact in asked if fact in said}
    for condition in tables.conditions:
        days = condition.holds_days
        since = None if days is None else visit.at - dt.timedelta(days=days)
        holds = any(
            condition.fact in v.conditions
            for v in (visit, *bed.visits)
            if v.at <= visit.at and (since is None or v.at > since)
        )
        found.update((condition.fact, *condition.implies) if holds else ())
    return tuple(sorted(found))


def patient_of(bed: Bedside, visit: Visit) -> Patient:
    """Give the animal as the interaction rules ask for it; an allergy is what stands before ':'."""
    horse = bed.horse
    weight = horse.weight()
    own = () if bed.case is None else bed.case.visits
    before = [v.body for v in reversed(own) if v.entry.id != bed.without]
    return Patient(
        species=horse.species.value,
        sex=horse.sex.value,
        age_days=horse.age_days(visit.at.date()),
        weight_kg=weight.kg if weight else None,
        pregnant_until=horse.foaling_due,
        lactating=horse.lactating,
        hydration=_hydration((visit, *before), visit.at),
        conditions=_conditions(bed, visit),
        allergies=tuple(a.partition(":")[0] for a in horse.allergies),
        food_chain=food_chain(bed).value,
        competes=horse.competes,
        governing_body=horse.governing_body,
        tetanus_unvaccinated=horse.tetanus.history is not TetanusHistory.DATED
        or horse.tetanus.finished is False,
        jurisdiction=bed.library.jurisdiction,
    )


def last_nsaid(case: Case, at: dt.datetime, library: Library) -> Treatment | None:
    """Give the anti-inflammatory on record whose last dose lies closest before a moment."""
    visits = (v.body for v in case.visits)
    drugs = (p.treatment for v in visits for p in placed_drugs(v, library))
    nsaids = (
        t
        for t in drugs
        if t.start <= at
        and (drug := known_drug("", t.drug, library)) is not None
        and "nsaid" in drug.classes
    )
    return max(nsaids, key=lambda t: min(t.last, at), default=None)
