"""The patient and the treatments as the interaction rules see them."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldnotes.knowledge.interactions import Interactions


@dataclass(frozen=True)
class Patient:
    """What is known of the animal; `hydration` is good, poor or unknown and asked once a case.

    `conditions` use the words of the rules: shock, blood loss, renal disease, penile wound ...
    """

    species: str = "horse"
    sex: str = "unknown"
    age_days: int | None = None
    weight_kg: float | None = None
    pregnant_until: dt.date | None = None
    lactating: bool = False
    hydration: str = "unknown"
    conditions: tuple[str, ...] = ()
    allergies: tuple[str, ...] = ()
    food_chain: str = "unknown"
    competes: bool = False
    governing_body: str = ""
    tetanus_unvaccinated: bool = False
    jurisdiction: str = ""


@dataclass(frozen=True)
class Treatment:
    """A drug given or to be given, by anyone, for any wound of the animal; `last` = last dose.

    `amount` is one dose in the drug's unit; `near` holds face, eye or synovial (entry not
    excluded) for what goes on a wound; `classes` is for what the formulary does not hold.
    """

    drug: str
    route: str
    start: dt.datetime
    last: dt.datetime
    interval_h: float | None = None
    doses: int = 1
    amount: float | None = None
    percent: float | None = None
    given_by: str = "vet"
    near: tuple[str, ...] = ()
    classes: tuple[str, ...] = ()


def _pregnancy(tables: Interactions, patient: Patient, on: dt.date) -> tuple[str, ...]:
    due = patient.pregnant_until
    if due is None or not due - dt.timedelta(days=tables.pregnancy_days) <= on <= due:
        return ()
    last = on >= due - dt.timedelta(days=tables.last_days)
    return ("pregnant", "last month of pregnancy") if last else ("pregnant",)


def facts(tables: Interactions, patient: Patient, on: dt.date) -> frozenset[str]:
    """Give everything the rules may ask about the animal on a day."""
    known = {c.casefold() for c in patient.conditions}
    known.update(_pregnancy(tables, patient, on))
    if patient.age_days is not None:
        known.update(fact for fact, days in tables.ages if patient.age_days < days)
    said = {
        "stallion": patient.sex == "stallion",
        "lactating": patient.lactating,
        "dehydrated": patient.hydration == "poor",
        "hydration unknown": patient.hydration == "unknown",
        "food chain": patient.food_chain == "intended",
        "food chain unknown": patient.food_chain == "unknown",
        "competes": patient.competes,
        "tetanus unvaccinated": patient.tetanus_unvaccinated,
    }
    known.update(fact for fact, holds in said.items() if holds)
    return frozenset(known)
