"""What a dose or a supply costs where the practice has entered a price; nothing is guessed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldnotes.clinical.doses import DoseOption
    from fieldnotes.domain.formulary import Price
    from fieldnotes.knowledge.drugs import Strength


@dataclass(frozen=True)
class Cost:
    """An amount of money with its working: so many of a measure at a price each."""

    amount: float
    currency: str
    working: str

    @property
    def text(self) -> str:
        """The cost in words, with its working."""
        return f"{self.amount:,.2f} {self.currency} ({self.working})"


def cost_of(item: str, per: str, count: float | None, prices: Mapping[str, Price]) -> Cost | None:
    """Give what a count of an item costs; None without a count or a price."""
    price = prices.get(f"{item.casefold()}|{per}")
    if price is None or price.amount <= 0 or count is None:
        return None
    working = f"{count:,.4g} {per} at {price.amount:,.2f}, price of {price.on:%d %b %Y}"
    return Cost(count * price.amount, price.currency, working)


def strength_item(name: str, unit: str, strength: Strength) -> str:
    """Give what a drug's strength is loaded, counted and priced under: "flunixin 50 mg/mL"."""
    return name if strength.per == unit else f"{name} {strength.amount:g} {unit}/{strength.per}"


def priced_item(name: str, option: DoseOption) -> str:
    """Give the item the strength of a dose is priced under."""
    return strength_item(name, option.unit, option.strength)


def dose_cost(name: str, option: DoseOption, prices: Mapping[str, Price]) -> Cost | None:
    """Give what one dose costs: the volume drawn, or the whole units that are used."""
    count = option.volume_ml
    if count is None:
        count = option.units_rounded if option.units_rounded is not None else option.units
    return cost_of(priced_item(name, option), option.strength.per, count, prices)
