"""The practice's own formulary: what it confirmed, its doses, strengths, choices and prices."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.casework.views import Saved
from fieldnotes.domain.entries import REGISTER
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.formulary import (
    Choice,
    DrugSet,
    Mark,
    OwnDose,
    OwnStrength,
    PracticeDrug,
    Price,
    PriceSet,
)
from fieldnotes.domain.text import clean_line
from fieldnotes.knowledge.drugs import load_drugs, one_drug
from fieldnotes.knowledge.routes import one_route

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework
    from fieldnotes.domain.formulary import FormularyBody
    from fieldnotes.knowledge.drugs import Drug

SLIP = 10.0  # so many times over, or under, all that is published is a slip of unit
MEASURES = ("mL", "g", "tablet", "capsule", "bolus", "sachet", "dose")


def price_id(item: str, per: str) -> str:
    """Give the id of a price: what it is for, and of which measure."""
    return f"{clean_line(item).casefold()}|{per}"


class Formulary:
    """What the practice decides about drugs; every decision is an entry with who and when."""

    def __init__(self, desk: Casework, *, writes: bool = True) -> None:
        self._desk = desk
        self._writes = writes

    def trial(self) -> Formulary:
        """Give one that checks every decision and writes none."""
        return Formulary(self._desk, writes=False)

    def drug(self, text: str) -> Drug:
        """Give one drug by any part of its generic name, as the practice has it."""
        return one_drug(self._desk.knowledge.drugs, text)

    def own(self, drug: Drug) -> PracticeDrug:
        """Give what has been decided about a drug so far."""
        return self._desk.register().drugs.get(drug.id, PracticeDrug(drug.id))

    def _signer(self) -> str:
        author = self._desk.author()
        person = self._desk.register().people.get(author)
        return person.name if person else author

    def _put(self, own: PracticeDrug) -> Saved:
        return self._save(DrugSet(own))

    def _save(self, body: FormularyBody) -> Saved:
        return self._desk.save(body) if self._writes else Saved(REGISTER, ())

    # ----- decisions

    def confirm(self, text: str, *, confirmed: bool = True) -> Saved:
        """Say that the drug's figures were compared with the label, or take that back."""
        own = self.own(self.drug(text))
        by, on = (self._signer(), self._desk.today()) if confirmed else ("", None)
        return self._put(replace(own, confirmed_by=by, confirmed_on=on))

    def set_dose(
        self,
        text: str,
        route: str,
        low: float,
        high: float | None = None,
        *,
        interval_h: float | None = None,
        why: str = "",
        per_kg: bool = True,
    ) -> Saved:
        """Set the dose the practice uses by a route at an interval, with its own source text.

        One with the same route and interval takes the place of an earlier one.
        """
        drug = self.drug(text)
        by = one_route(self._desk.knowledge.routes, route).id
        most = low if high is None else high
        own_dose = OwnDose(
            by, low, most, interval_h, _why(why), self._signer(), self._desk.today(), per_kg
        )
        _check_dose(own_dose, _published(drug))
        if not drug.strengths:
            raise RefusedInputError("drug", f"set a strength of {drug.name} first")
        own = self.own(drug)
        kept = tuple(d for d in own.doses if (d.route, d.interval_h) != (by, interval_h))
        return self._put(replace(own, doses=(own_dose, *kept)))

    def drop_dose(self, text: str, route: str) -> Saved:
        """Go back to the published doses by a route."""
        own, by = self.own(self.drug(text)), one_route(self._desk.knowledge.routes, route).id
        if all(d.route != by for d in own.doses):
            raise RefusedInputError("route", f"the practice has set no dose by {by}")
        return self._put(replace(own, doses=tuple(d for d in own.doses if d.route != by)))

    def set_strength(  # noqa: PLR0917  (a strength has these parts)
        self,
        text: str,
        amount: float,
        per: str,
        form: str,
        routes: tuple[str, ...],
        why: str,
        pack: float | None = None,
    ) -> Saved:
        """Set a strength the practice stocks: amount of drug in one mL, g, tablet or dose.

        `pack` is how many of them a bottle or box holds.
        """
        drug = self.drug(text)
        if not (math.isfinite(amount) and 0 < amount <= 1e7):
            raise RefusedInputError("amount", f"{amount:g} {drug.unit} is no strength")
        if per not in MEASURES:
            raise RefusedInputError("per", f"'{per}' is not one of {', '.join(MEASURES)}")
        ids = tuple(one_route(self._desk.knowledge.routes, r, "routes").id for r in routes)
        if not ids:
            raise RefusedInputError("routes", "by which route is it given?")
        if pack is not None and not (math.isfinite(pack) and 0 < pack <= 1e5):
            raise RefusedInputError("pack", f"no bottle or box holds {pack:g} {per}")
        said = clean_line(form) or "injection"
        own_strength = OwnStrength(
            amount, per, said, ids, _why(why), self._signer(), self._desk.today(), pack
        )
        own = self.own(drug)
        kept = tuple(s for s in own.strengths if (s.amount, s.per, s.form) != (amount, per, said))
        return self._put(replace(own, strengths=(own_strength, *kept)))

    def choose(self, text: str, route: str, label: str) -> Saved:
        """Go by one published dose of a route where sources disagree; the others stay in sight."""
        drug, by = self.drug(text), one_route(self._desk.knowledge.routes, route).id
        labels = tuple(r.label for r in drug.regimens if r.route == by and not r.changed)
        fitting = tuple(x for x in labels if label.strip().casefold() in x.casefold())
        exact = tuple(x for x in labels if label.strip().casefold() == x.casefold()) or fitting
        if len(set(exact)) != 1:
            there = "; ".join(dict.fromkeys(labels)) or "none"
            raise RefusedInputError(
                "label", f"'{label}' is not one published dose by {by}: {there}"
            )
        own = self.own(drug)
        kept = tuple(c for c in own.choices if c.route != by)
        choice = Choice(by, exact[0], self._signer(), self._desk.today())
        return self._put(replace(own, choices=(*kept, choice)))

    def mark(self, text: str, why: str, *, controlled: bool) -> Saved:
        """Keep a drug in the controlled-drug register, or not, whatever the tables say."""
        drug_id, _ = self._desk.pharmacy.named(text)
        own = self._desk.register().drugs.get(drug_id, PracticeDrug(drug_id))
        mark = Mark(controlled, _why(why), self._signer(), self._desk.today())
        return self._put(replace(own, mark=mark))

    def set_price(self, item: str, per: str, amount: float, currency: str) -> Saved:
        """Set what one mL, tablet, roll or piece of an item costs; 0 takes the price away."""
        if not item.strip():
            raise RefusedInputError("item", "the price of what?")
        if not per.strip():
            raise RefusedInputError("per", "for one mL, tablet, roll, piece ...?")
        if not (math.isfinite(amount) and 0 <= amount <= 1e5):
            raise RefusedInputError("amount", f"{amount:g} is no price")
        if not (currency.isalpha() and len(currency) == 3 and currency.isascii()):
            raise RefusedInputError("currency", f"'{currency}' is not three letters such as EUR")
        name, measure = clean_line(item), clean_line(per)
        price = Price(
            price_id(name, measure), name, measure, amount, currency.upper(), self._signer(),
            self._desk.today(),
        )  # fmt: skip
        return self._save(PriceSet(price))

    def prices(self) -> tuple[Price, ...]:
        """Give the prices that stand, by item."""
        found = (p for p in self._desk.register().prices.values() if p.amount > 0)
        return tuple(sorted(found, key=lambda p: p.id))


def _why(text: str) -> str:
    said = clean_line(text)
    if not said:
        raise RefusedInputError("why", "where does the figure come from? Give its source")
    return said


def _published(drug: Drug) -> tuple[float, ...]:
    """Give the published doses per kg, of which a slip of unit would be far from all."""
    shipped = next((d for d in load_drugs() if d.id == drug.id), drug)
    return tuple(x for r in shipped.regimens if r.per_kg for x in (r.low, r.high))


def _check_dose(own: OwnDose, published: tuple[float, ...]) -> None:
    if not (math.isfinite(own.low) and own.low > 0):
        raise RefusedInputError("dose", f"{own.low:g} is no dose")
    if not (math.isfinite(own.high) and own.high >= own.low):
        raise RefusedInputError("dose", f"{own.low:g} to {own.high:g}: the low end comes first")
    if own.interval_h is not None and not 1 <= own.interval_h <= 720:
        raise RefusedInputError("interval_h", f"{own.interval_h:g} h is not within 1 to 720 h")
    if not own.per_kg or not published:
        return
    low, high = min(published) / SLIP, max(published) * SLIP
    if not low <= own.low <= own.high <= high:
        raise RefusedInputError(
            "dose",
            f"{own.low:g} to {own.high:g} per kg is over {SLIP:g} times off all that is published"
            f" ({min(published):g} to {max(published):g}): mg, ug and IU mixed up?",
        )
