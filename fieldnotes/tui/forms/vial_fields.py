"""The vial a controlled drug given in a visit is drawn from, chosen on the drug's page."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.rendering.vial_register import ml
from fieldnotes.tui.fields.choices import ChoiceField, lettered

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from fieldnotes.domain.treatment import DrugGiven
    from fieldnotes.domain.vial_book import VialAccount
    from fieldnotes.domain.vials import Vial
    from fieldnotes.tui.fields.field import Field
    from fieldnotes.tui.forms.form import Reading

    Shelf = Mapping[str, tuple[VialAccount, ...]]

NOT_BOOKED = "none"


def vial_words(account: VialAccount, today: dt.date) -> str:
    """Give "V1: 9.4 mL left, expires 31 Jan 2027", saying so where it has expired."""
    vial = account.vial
    end = "EXPIRED" if vial.expiry < today else "expires"
    return f"{vial.id}: {ml(account.balance_ml)} mL left, {end} {vial.expiry:%d %b %Y}"


def vial_choice(
    key: str, accounts: tuple[VialAccount, ...], today: dt.date, *, unbooked: bool
) -> ChoiceField:
    """Give the choice among vials; `unbooked` offers to leave the dose an open item."""
    given = [(a.vial.id, vial_words(a, today)) for a in accounts]
    if unbooked:
        given.append((NOT_BOOKED, "not booked: an open item"))
    none = NOT_BOOKED if unbooked and not accounts else ""
    return ChoiceField(
        key=key, label="Vial", given=lettered(given), required=True, default=none,
        hint="the draw is booked in the controlled-drug register when the visit is saved"
        if accounts else "no vial of it is in stock: the dose is shown as not booked",
    )  # fmt: skip


def vial_fields(p: str, drug: str, use: str, shelf: Shelf, today: dt.date) -> tuple[Field, ...]:
    """Give the vial's field for a registered drug the vet gives; none for any other."""
    if drug not in shelf or use not in {"", "vet"}:
        return ()
    return (vial_choice(f"{p}.vial", shelf[drug], today, unbooked=True),)


def chosen_vial(p: str, r: Reading, drug: str, shelf: Shelf) -> Vial | None:
    """Give the vial chosen on a page; None where the dose is not booked."""
    mark = r.get(f"{p}.vial") or NOT_BOOKED
    return next((a.vial for a in shelf.get(drug, ()) if a.vial.id == mark), None)


def from_vial(dose: DrugGiven, vial: Vial | None) -> DrugGiven:
    """Give a dose as drawn from a vial: its strength, batch and expiry, and the volume of them."""
    if vial is None:
        return dose
    volume = dose.volume_ml
    if dose.amount is not None and dose.unit == vial.unit:
        volume = dose.amount / vial.amount_per_ml
    return replace(
        dose,
        vial=vial.id,
        volume_ml=volume,
        strength=f"{vial.amount_per_ml:g} {vial.unit}/mL",
        batch=dose.batch or vial.batch,
        expiry=dose.expiry or vial.expiry,
    )
