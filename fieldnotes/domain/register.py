"""The register's present state: the latest entry about each practice, person, place and animal."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from fieldnotes.domain.driving import ROAD_KINDS, Road
from fieldnotes.domain.entries import (
    Entry,
    HorseSet,
    OwnerSet,
    PersonSet,
    PracticeSet,
    PremisesSet,
)
from fieldnotes.domain.formulary import FORMULARY_KINDS, DrugSet, PriceSet
from fieldnotes.domain.rulebook import RULE_KINDS, DisputeSet, RuleSet
from fieldnotes.domain.wound_templates import TEMPLATE_KINDS, TemplateSet

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from typing import Any

    from fieldnotes.domain.formulary import PracticeDrug, Price
    from fieldnotes.domain.patients import Horse, Owner, Person, Practice, Premises
    from fieldnotes.domain.rulebook import RuleChange, Settled
    from fieldnotes.domain.wound_templates import WoundTemplate

REGISTER_BODIES = (
    PracticeSet, PersonSet, OwnerSet, PremisesSet, HorseSet, *FORMULARY_KINDS.values(),
    *RULE_KINDS.values(), *ROAD_KINDS.values(), *TEMPLATE_KINDS.values(),
)  # fmt: skip
"""What the desk may set in the register; vials are booked in their own way."""


@dataclass(frozen=True)
class Register:
    """Everyone and everything known, by id."""

    practice: Practice | None = None
    people: Mapping[str, Person] = field(default_factory=dict)
    owners: Mapping[str, Owner] = field(default_factory=dict)
    premises: Mapping[str, Premises] = field(default_factory=dict)
    horses: Mapping[str, Horse] = field(default_factory=dict)
    drugs: Mapping[str, PracticeDrug] = field(default_factory=dict)
    prices: Mapping[str, Price] = field(default_factory=dict)
    rules: Mapping[str, RuleChange] = field(default_factory=dict)
    disputes: Mapping[str, Settled] = field(default_factory=dict)
    templates: Mapping[str, WoundTemplate] = field(default_factory=dict)


def fold_register(entries: Iterable[Entry]) -> Register:
    """Fold register entries, in any order given; the logically latest record wins."""
    practice: Practice | None = None
    people: dict[str, Person] = {}
    owners: dict[str, Owner] = {}
    premises: dict[str, Premises] = {}
    horses: dict[str, Horse] = {}
    drugs: dict[str, PracticeDrug] = {}
    prices: dict[str, Price] = {}
    ordered = sorted(entries, key=lambda e: e.order)
    for entry in ordered:
        match entry.body:
            case PracticeSet(found):
                practice = found
            case PersonSet(person):
                people[person.id] = person
            case OwnerSet(owner):
                owners[owner.id] = owner
            case PremisesSet(place):
                premises[place.id] = place
            case HorseSet(horse):
                horses[horse.id] = horse
            case DrugSet(drug):
                drugs[drug.id] = drug
            case PriceSet(price):
                prices[price.id] = price
            case _:
                pass
    said = tuple(entry.body for entry in ordered)
    rules = {b.followup_rule.id: b.followup_rule for b in said if isinstance(b, RuleSet)}
    settled = {b.dispute.id: b.dispute for b in said if isinstance(b, DisputeSet)}
    templates = {b.template.id: b.template for b in said if isinstance(b, TemplateSet)}
    return Register(
        practice, people, owners, premises, horses, drugs, prices, rules, settled, templates
    )


def road_of(known: Mapping[str, Mapping[str, Any]]) -> Road:
    """Give the road from its records by kind and id."""
    plural = {"stock": "stock"}
    return Road(**{plural.get(kind, f"{kind}s"): known.get(kind, {}) for kind in ROAD_KINDS})
