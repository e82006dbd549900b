"""What the practice has decided about a drug, and what it pays; each with who, when and why."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True)
class OwnDose:
    """A dose the practice uses, in the drug's unit, with its own source text.

    `per_kg` False is an amount for the animal whatever it weighs (a regional perfusion, a joint).
    `interval_h` None is a single dose. A route without a published dose is reckoned from it.
    """

    route: str
    low: float
    high: float
    interval_h: float | None
    why: str
    set_by: str
    on: dt.date
    per_kg: bool = True


@dataclass(frozen=True)
class OwnStrength:
    """A strength the practice stocks: amount of drug for each mL, g, tablet or the like.

    `pack` is how many of them a bottle or box holds (None: not said).
    """

    amount: float
    per: str
    form: str
    routes: tuple[str, ...]
    why: str
    set_by: str
    on: dt.date
    pack: float | None = None


@dataclass(frozen=True)
class Choice:
    """The published dose the practice goes by where sources disagree, by route and label."""

    route: str
    label: str
    set_by: str
    on: dt.date


@dataclass(frozen=True)
class Mark:
    """Whether the practice keeps a drug in its register, whatever the tables say."""

    controlled: bool
    why: str
    set_by: str
    on: dt.date


@dataclass(frozen=True)
class PracticeDrug:
    """Everything the practice has decided about one drug, as it stands from now on.

    `confirmed_by` is empty while nobody has compared the shipped figures with the label.
    """

    id: str
    confirmed_by: str = ""
    confirmed_on: dt.date | None = None
    doses: tuple[OwnDose, ...] = ()
    strengths: tuple[OwnStrength, ...] = ()
    choices: tuple[Choice, ...] = ()
    mark: Mark | None = None


@dataclass(frozen=True)
class Price:
    """What one mL, tablet, roll or piece of an item costs; `id` is the item and its measure."""

    id: str
    item: str
    per: str
    amount: float
    currency: str
    set_by: str
    on: dt.date


@dataclass(frozen=True)
class DrugSet:
    """The practice's own figures for a drug, as they stand from now on."""

    drug: PracticeDrug


@dataclass(frozen=True)
class PriceSet:
    """A price, as it stands from now on."""

    price: Price


FormularyBody: TypeAlias = DrugSet | PriceSet
FORMULARY_KINDS: Mapping[str, type[FormularyBody]] = {"drug": DrugSet, "price": PriceSet}
