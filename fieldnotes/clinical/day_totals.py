"""Each drug added up over a day and all wounds of an animal, against its ceilings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator, Mapping

    from fieldnotes.clinical.patient_facts import Treatment
    from fieldnotes.knowledge.drugs import Drug, Limit

_EXACT = 1e-9


@dataclass(frozen=True)
class DayTotal:
    """What an animal of `weight_kg` got of one drug on one day, in the drug's unit."""

    drug: Drug
    day: dt.date
    amount: float
    weight_kg: float

    @property
    def per_kg(self) -> float:
        """The total for each kg of the animal."""
        return self.amount / self.weight_kg

    @property
    def ceilings(self) -> tuple[Limit, ...]:
        """The published totals per kg, sources side by side."""
        return tuple(x for x in self.drug.limits if x.kind == "total_per_kg")

    @property
    def passed(self) -> tuple[Limit, ...]:
        """The ceilings it is over."""
        return tuple(x for x in self.ceilings if self.per_kg > x.value * (1 + _EXACT))


def day_totals(
    treatments: Iterable[Treatment], drugs: Mapping[str, Drug], weight_kg: float
) -> Iterator[DayTotal]:
    """Give the total of every known drug and day; an amount that is not known adds nothing."""
    totals: dict[tuple[str, dt.date], float] = {}
    for t in treatments:
        if t.amount and t.drug in drugs:
            key = (t.drug, t.start.date())
            totals[key] = totals.get(key, 0.0) + t.amount * t.doses
    for (drug_id, day), amount in totals.items():
        yield DayTotal(drugs[drug_id], day, amount, weight_kg)
