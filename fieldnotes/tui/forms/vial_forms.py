"""Forms of the controlled-drug register: a vial in, a draw, waste, what else left, a count."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.vial_book import said_ml
from fieldnotes.domain.vials import (
    MoveKind,
    Vial,
    VialBody,
    VialCorrection,
    VialCount,
    VialMove,
    VialReceived,
)
from fieldnotes.rendering.vial_register import ml
from fieldnotes.tui.fields.choices import YES_NO, ChoiceField, lettered
from fieldnotes.tui.fields.field import Field, Option
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.fields.moments import DateField, MomentField
from fieldnotes.tui.forms.finding import find_among
from fieldnotes.tui.forms.form import Pane
from fieldnotes.tui.forms.register_forms import RegisterForm
from fieldnotes.tui.forms.vial_fields import vial_choice

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.errors import Problem
    from fieldnotes.domain.vial_book import VialAccount
    from fieldnotes.tui.forms.form import Answers, Reading

Fields = tuple[Field, ...]
UNITS = ("mg", "IU")
LEFT = (
    (MoveKind.RETURNED, "returned to the supplier"),
    (MoveKind.DESTROYED, "destroyed"),
    (MoveKind.LOST, "lost, cannot be accounted for"),
)
MOST_ENTRIES = 30


class VialForm(RegisterForm):
    """One page of fields that become one entry of the controlled-drug register."""

    def __init__(  # noqa: PLR0917  (it has these parts)
        self,
        desk: Casework,
        name: str,
        words: str,
        fields: Fields,
        build: Callable[[Reading], VialBody],
        about: str = "",
    ) -> None:
        super().__init__(desk, name, words, fields, build)
        self._make = build
        self._pane = (Pane(name, name.removeprefix("vial_").capitalize(), fields),)
        self.case = about

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong."""
        r = self.reading(answers)
        body = self._make(r)
        return r.faults() or self._desk.pharmacy.problems(body)

    def save(self, answers: Answers) -> Saved:
        """Put the entry into the register."""
        return self._desk.pharmacy.write(self._make(self.reading(answers)))


def _volume(words: str, default: str = "") -> NumberField:
    return NumberField(key="volume_ml", label=words, unit="mL", required=True, default=default)


def _moment(desk: Casework, key: str = "at") -> MomentField:
    return MomentField(key=key, label="When", now=desk.now(), default="now")


def _who(desk: Casework) -> ChoiceField:
    people = ((p.id, p.name) for p in desk.register().people.values())
    return ChoiceField(
        key="who", label="By", given=lettered(people), required=True, default=desk.author()
    )


def _reason(hint: str) -> Field:
    return Field(key="reason", label="Reason", hint=hint)


def _title(words: str, account: VialAccount) -> str:
    vial = account.vial
    left = f"{ml(account.balance_ml)} mL left"
    return f"{words} {vial.id}: {vial.name} {vial.amount_per_ml:g} {vial.unit}/mL, {left}"


def receive(desk: Casework, _ref: str = "") -> VialForm:
    """Give the form that takes a vial into stock."""
    drugs = {row.drug: row.drug for row in desk.knowledge.controlled.drugs}
    drugs |= {d.id: d.name for d in desk.knowledge.drugs}
    found = tuple(Option(key, name) for key, name in sorted(drugs.items()))
    fields = (
        find_among("drug", "Drug", found, "drug", required=True, also=("name",),
                   hint="part of the generic name"),
        NumberField(key="amount_per_ml", label="Strength", unit="per mL", required=True),
        ChoiceField(key="unit", label="In", given=lettered((u, u) for u in UNITS), default="mg"),
        _volume("Holds"),
        Field(key="batch", label="Batch", required=True),
        DateField(key="expiry", label="Expires", today=desk.today(), required=True,
                  hint="the last day of use, e.g. 2027-01-31"),
        _moment(desk, "received_at"),
        Field(key="received_from", label="From", required=True, hint="the supplier"),
        Field(key="id", label="Mark", default=desk.pharmacy.next_mark(), required=True,
              hint="what is written on the vial"),
        _reason("for a vial that has expired already"),
    )  # fmt: skip

    def build(r: Reading) -> VialBody:
        drug = r.get("drug", "")
        return VialReceived(Vial(
            r.get("id", ""), drug, drugs.get(drug, drug), r.get("amount_per_ml", 0.0),
            r.get("unit") or "mg", r.get("volume_ml", 0.0), r.get("batch", ""), r.get("expiry"),
            r.get("received_at"), r.get("received_from", ""), r.get("reason", ""),
        ))  # fmt: skip

    return VialForm(desk, "vial_receive", "A vial into stock", fields, build)


def draw(desk: Casework, mark: str) -> VialForm:
    """Give the form for a draw that no visit books."""
    account = desk.pharmacy.account(mark)
    horses = tuple(Option(h.id, h.name) for h in desk.register().horses.values())
    fields = (
        _volume("Drawn"),
        find_among("horse", "Horse", horses, "horse", required=True, free=True),
        _moment(desk),
        _who(desk),
        _reason("for an expired vial, or more than is reckoned to be left"),
    )
    return VialForm(
        desk, "vial_draw", _title("Draw from", account), _about_vial(fields),
        lambda r: _move(r, account, MoveKind.DRAWN), account.vial.id,
    )  # fmt: skip


def waste(desk: Casework, mark: str) -> VialForm:
    """Give the form for what was spilt or left over."""
    account = desk.pharmacy.account(mark)
    fields = (
        _volume("Wasted"),
        Field(key="witness", label="Witness", required=True),
        _reason("spilt, left in the syringe ..."),
        _moment(desk),
        _who(desk),
    )
    return VialForm(
        desk, "vial_waste", _title("Waste from", account), _about_vial(fields),
        lambda r: _move(r, account, MoveKind.WASTED), account.vial.id,
    )  # fmt: skip


def leave(desk: Casework, mark: str) -> VialForm:
    """Give the form for what went back, was destroyed or is lost."""
    account = desk.pharmacy.account(mark)
    fields = (
        ChoiceField(key="what", label="It was", required=True,
                    given=lettered((k.value, words) for k, words in LEFT)),
        _volume("Volume", ml(max(account.balance_ml, 0))),
        Field(key="to", label="To", hint="needed where it is returned"),
        Field(key="witness", label="Witness", hint="needed where it is destroyed or lost"),
        _reason("needed where it is lost"),
        _moment(desk),
        _who(desk),
    )  # fmt: skip
    return VialForm(
        desk, "vial_leave", _title("Out of stock", account), _about_vial(fields),
        lambda r: _move(r, account, MoveKind(r.get("what") or MoveKind.RETURNED)),
        account.vial.id,
    )  # fmt: skip


def _about_vial(fields: Fields) -> Fields:
    """Show what is wrong with the vial itself at the reason, which is where it is answered."""
    return tuple(
        Field(key=f.key, label=f.label, hint=f.hint, also=("vial",)) if f.key == "reason" else f
        for f in fields
    )


def _move(r: Reading, account: VialAccount, what: MoveKind) -> VialMove:
    return VialMove(
        account.vial.id, what, r.get("volume_ml", 0.0), r.get("at"), r.get("who", ""),
        horse=r.get("horse", "") or "", witness=r.get("witness", "") or "",
        to=r.get("to", "") or "", reason=r.get("reason", "") or "",
    )  # fmt: skip


def count(desk: Casework, mark: str) -> VialForm:
    """Give the form for a count."""
    account = desk.pharmacy.account(mark)
    fields = (
        _volume("Found"),
        Field(key="witness", label="Witness"),
        Field(key="note", label="Note"),
        _moment(desk),
        _who(desk),
    )
    return VialForm(
        desk, "vial_count", _title("Count", account), fields,
        lambda r: VialCount(account.vial.id, r.get("volume_ml", 0.0), r.get("at"),
                            r.get("who", ""), r.get("witness", ""), r.get("note", "")),
        account.vial.id,
    )  # fmt: skip


def correct(desk: Casework, mark: str) -> VialForm:
    """Give the form that corrects an entry by a new one beside it."""
    account, zone = desk.pharmacy.account(mark), desk.now().tzinfo
    lines = account.lines[::-1][:MOST_ENTRIES]
    given = lettered(
        (x.entry.id, f"{x.at.astimezone(zone):%d %b %H:%M} {x.what} {ml(said_ml(x.entry))} mL")
        for x in lines
    )
    fields = (
        ChoiceField(key="of", label="Corrects", given=given, required=True, default=given[0].id,
                    hint="the old entry stays readable beside it"),
        NumberField(key="volume_ml", label="Should be", unit="mL",
                    hint="empty: its volume stands"),
        ChoiceField(key="struck", label="Struck out", given=YES_NO,
                    hint="it should not be there at all"),
        Field(key="text", label="Should read", hint="anything else: horse, batch, person"),
        Field(key="why", label="Because", required=True),
        _moment(desk),
        _who(desk),
    )  # fmt: skip
    return VialForm(
        desk, "vial_correct", _title("Correct", account), fields,
        lambda r: VialCorrection(r.get("of", ""), r.get("why", ""), r.get("who", ""), r.get("at"),
                                 r.get("volume_ml"), bool(r.get("struck")), r.get("text", "")),
        account.vial.id,
    )  # fmt: skip


def book(desk: Casework, dose_id: str) -> VialForm:
    """Give the form that books a dose of a visit; RefusedInputError if it is booked by now."""
    dose = next((x for x in desk.pharmacy.open_doses() if x.id == dose_id), None)
    if dose is None:
        raise RefusedInputError("dose", "this dose is booked by now")
    stock, horse = desk.pharmacy.shelf().get(dose.drug, ()), desk.case(dose.case).opened.horse
    missing = None if dose.volume_ml is None else dose.volume_ml - dose.booked_ml
    fields = (
        vial_choice("vial", stock, desk.today(), unbooked=False),
        _volume("Drawn", ml(missing) if missing and missing > 0 else ""),
        _who(desk),
        _reason("for an expired vial, or more than is reckoned to be left"),
    )
    return VialForm(
        desk, "vial_book", f"Book {dose.name} for {dose.horse}, {dose.at:%d %b %H:%M}", fields,
        lambda r: VialMove(
            r.get("vial", ""), MoveKind.DRAWN, r.get("volume_ml", 0.0), dose.at, r.get("who", ""),
            case=dose.case, horse=horse, visit=dose.visit, item=dose.item,
            reason=r.get("reason", ""),
        ), dose_id,
    )  # fmt: skip
