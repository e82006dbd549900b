"""One page per drug, given or left with the owner: the dose is reckoned, shown and editable."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import partial
from typing import TYPE_CHECKING

from fieldnotes.clinical.costs import dose_cost
from fieldnotes.clinical.dose_text import (
    dose_line,
    interval_text,
    measure_text,
    per_kg_text,
    unconfirmed,
)
from fieldnotes.clinical.doses import dose, first_of_each, told_apart
from fieldnotes.domain.body_weight import METRIC
from fieldnotes.domain.errors import Problem, RefusedInputError
from fieldnotes.domain.treatment import DrugDispensed, DrugGiven
from fieldnotes.knowledge.routes import is_injected
from fieldnotes.tui.fields.choices import ChoiceField, lettered
from fieldnotes.tui.fields.field import Field
from fieldnotes.tui.fields.measures import NumberField, plain
from fieldnotes.tui.fields.moments import DateField
from fieldnotes.tui.forms.finding import find_drug
from fieldnotes.tui.forms.form import Answers, Pane, Reading
from fieldnotes.tui.forms.vial_fields import chosen_vial, from_vial, vial_fields

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Mapping

    from fieldnotes.casework.caution import Caution
    from fieldnotes.casework.desk import Casework
    from fieldnotes.clinical.doses import DoseOption
    from fieldnotes.domain.formulary import Price
    from fieldnotes.domain.patients import Horse
    from fieldnotes.knowledge.drugs import Drug, Drugs
    from fieldnotes.knowledge.routes import Route
    from fieldnotes.tui.forms.vial_fields import Shelf

MOST_DRUGS = 8
BY_MOUTH = "PO"
ML = "ml"
USES = (("vet", "given now"), ("left", "left with owner"), ("owner", "owner gave it"),
        ("other", "another vet gave it"))  # fmt: skip
PARTS = (
    "name",
    "route",
    "amount",
    "batch",
    "expiry",
    "reason",
    "days",
    "interval_h",
    "per_kg",
    "vial",
)


@dataclass(frozen=True)
class Patient:
    """For whom doses are reckoned, when, the routes, vials, prices, and how it is weighed."""

    horse: Horse | None
    weight_kg: float | None
    drugs: Drugs
    now: dt.datetime
    routes: tuple[Route, ...]
    shelf: Shelf = field(default_factory=dict)
    prices: Mapping[str, Price] = field(default_factory=dict)
    units: str = METRIC

    def options(self, drug: Drug | None) -> tuple[DoseOption, ...]:
        """Give the published ways to give a drug to this animal; none without a weight."""
        if drug is None or self.weight_kg is None or self.horse is None:
            return ()
        age = self.horse.age_days(self.now.date())
        try:
            reckoned = dose(drug, self.weight_kg, age_days=age, species=self.horse.species.value)
        except RefusedInputError:
            return ()
        return reckoned.options if self.horse.species.value == "horse" else ()

    def chosen(self, drug: Drug, answer: str, *, left: bool) -> DoseOption | None:
        """Give the option an answer stands for, else the first; None where nothing is reckoned."""
        options = self.options(drug)
        if not options or (not left and answer in {r.id for r in self.only_recorded(drug)}):
            return None
        known = answer.isdecimal() and int(answer) < len(options)
        return options[int(answer) if known else _order(options, left=left)[0]]

    def only_recorded(self, drug: Drug) -> tuple[Route, ...]:
        """Give the routes a drug of its class is given by that no dose is held for."""
        dosed = {r.route for r in drug.regimens}
        return tuple(
            r for r in self.routes
            if r.record_only and r.id not in dosed and set(r.classes) & set(drug.classes)
        )  # fmt: skip

    def named(self, drug_id: str) -> Drug | None:
        """Give a drug by its id."""
        return next((d for d in self.drugs if d.id == drug_id), None)


def at_hand(desk: Casework, now: dt.datetime) -> Callable[[Horse | None, float | None], Patient]:
    """Give what makes a patient of a horse and its weight, with all the desk has for its drugs."""
    known = desk.knowledge
    return partial(
        Patient, drugs=known.drugs, now=now, routes=known.routes, shelf=desk.pharmacy.shelf(),
        prices=desk.register().prices, units=desk.practice().units,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class AmountField(NumberField):
    """An amount that shows its working; taken in mL too where `per_ml`, the strength, is known."""

    working: str = ""
    per_ml: float | None = None

    def _scaled(self, value: float, unit: str, typed: str | None) -> float:
        if unit.casefold() != ML or self.unit.casefold() == ML:
            return super()._scaled(value, unit, typed)
        if self.per_ml is None:
            raise RefusedInputError(self.key, f"its strength per mL is not known: type {self.unit}")
        return value * self.per_ml

    def echo(self, text: str) -> str:
        """Give the amount with its unit, then where it comes from."""
        own = super().echo(text)
        if own and self.per_ml is not None and text.strip().casefold().endswith(ML):
            return f"{own}, at {plain(self.per_ml)} {self.unit}/mL"
        return f"{own}, {self.working}" if self.working and text == self.default else own


def amount_answer(amount: float) -> str:
    """Give an amount as a form keeps it, at most four figures after the point."""
    return f"{amount:.4f}".rstrip("0").rstrip(".")


def option_words(option: DoseOption) -> str:
    """Give a dose as it is chosen: route, dose, interval and what is drawn up."""
    end = f" {option.end}" if option.end else ""
    words = f"{option.route} {per_kg_text(option)} {interval_text(option)}{end}"
    return f"{words} ({measure_text(option)})"


def drug_pane(number: int, answers: Answers, patient: Patient) -> Pane:
    """Give the page of one drug."""
    p = f"drug.{number}"
    drug = patient.named(answers.get(f"{p}.drug", ""))
    first = find_drug(f"{p}.drug", "Drug", patient.drugs, also=(f"{p}.name",))
    if drug is None:
        return Pane(f"drug-{number}", f"Drug {number}", (first,))
    left = answers.get(f"{p}.use") == "left"
    option = patient.chosen(drug, answers.get(f"{p}.dose", ""), left=left)
    route = option.route if option else answers.get(f"{p}.route", _first_route(drug, left=left))
    injected = left and is_injected(patient.routes, route)
    return Pane(f"drug-{number}", f"Drug {number}", (
        first,
        ChoiceField(key=f"{p}.use", label="Use", given=lettered(USES), default="vet"),
        *_dose_fields(p, drug, patient, option, _per_ml(p, answers, drug, option, patient),
                      kept=answers.get(f"{p}.dose", ""), left=left),
        *(_course_fields(p, option) if left else ()),
        *vial_fields(p, drug.id, answers.get(f"{p}.use", ""), patient.shelf, patient.now.date()),
        Field(key=f"{p}.batch", label="Batch"),
        DateField(key=f"{p}.expiry", label="Expiry", today=patient.now.date()),
        Field(key=f"{p}.reason", label="Reason",
              hint=f"needed: {drug.name} by {route} is left with the owner" if injected else
              "for a dose over a limit, an expired batch, an unusual use"),
    ))  # fmt: skip


def _order(options: tuple[DoseOption, ...], *, left: bool) -> list[int]:
    """Give the options' numbers as offered: what an owner is left with goes by mouth first."""
    return sorted(range(len(options)), key=lambda n: left and options[n].route != BY_MOUTH)


def _first_route(drug: Drug, *, left: bool) -> str:
    routes = tuple(dict.fromkeys(r.route for r in drug.regimens))
    return BY_MOUTH if left and BY_MOUTH in routes else next(iter(routes), "")


def _dose_fields(
    p: str,
    drug: Drug,
    patient: Patient,
    option: DoseOption | None,
    per_ml: float | None,
    *,
    kept: str,
    left: bool,
) -> tuple[Field, ...]:
    options = patient.options(drug)
    if not options:
        return (
            Field(key=f"{p}.route", label="Route", required=True,
                  default=_first_route(drug, left=left)),
            AmountField(key=f"{p}.amount", label="Amount", unit=drug.unit, per_ml=per_ml,
                        hint="no weight recorded: the amount is not reckoned"),
        )  # fmt: skip
    apart = told_apart(options, kept=int(kept) if kept.isdecimal() else None)
    apart = first_of_each(options, apart, option)
    given = [(str(n), option_words(options[n])) for n in _order(options, left=left) if n in apart]
    if not left:
        given += [(r.id, f"{r.name}: recorded only") for r in patient.only_recorded(drug)]
    lines = _dose_lines(drug, option, patient)
    cost = dose_cost(drug.name, option, patient.prices) if option else None
    working = [measure_text(option)] if option else []
    working += [f"{cost.amount:,.2f} {cost.currency}"] if cost else []
    return (
        ChoiceField(key=f"{p}.dose", label="Dose", given=lettered(given), default=given[0][0],
                    also=(f"{p}.route", f"{p}.per_kg"), hint="\n".join(lines)),
        AmountField(key=f"{p}.amount", label="Amount", unit=drug.unit,
                    default=amount_answer(option.amount) if option else "",
                    working=", ".join(working), per_ml=per_ml,
                    hint="\n".join((*lines, *(option.limits if option else ())))),
    )  # fmt: skip


def _per_ml(
    p: str, answers: Answers, drug: Drug, option: DoseOption | None, patient: Patient
) -> float | None:
    """Give the strength per mL, a vial's own before the dose's; None: no liquid, or not known."""
    if answers.get(f"{p}.use", "") in {"", "vet"}:
        for account in patient.shelf.get(drug.id, ()):
            vial = account.vial
            if vial.id == answers.get(f"{p}.vial") and vial.unit == drug.unit:
                return vial.amount_per_ml
    return option.strength.amount if option and option.volume_ml is not None else None


def _dose_lines(drug: Drug, option: DoseOption | None, patient: Patient) -> tuple[str, ...]:
    """Give what stands under a dose: limits passed, unconfirmed, working and source, cost."""
    said = () if drug.confirmed else (unconfirmed(drug.name),)
    if option is None:
        return (*said, "no sourced dose is held for this route: type the amount, or set a dose")
    over = (x for x in option.limits if x.startswith("OVER"))
    cost = dose_cost(drug.name, option, patient.prices)
    priced = (f"costs {cost.text}",) if cost else ()
    return (*over, *priced, dose_line(drug.name, option), *said)


def _course_fields(p: str, option: DoseOption | None) -> tuple[Field, ...]:
    every = f"{option.interval_h:g}" if option and option.interval_h else ""
    days = f"{option.days:g}" if option and option.days else ""
    return (
        NumberField(key=f"{p}.interval_h", label="Every", unit="h", least=1, most=720,
                    default=every, required=True),
        NumberField(key=f"{p}.days", label="For", unit="days", least=0.5, most=120, default=days,
                    required=True),
        Field(key=f"{p}.owner_dose", label="In owner's words", hint="e.g. 1 sachet in feed"),
    )  # fmt: skip


def drug_panes(answers: Answers, patient: Patient) -> tuple[Pane, ...]:
    """Give a page for each drug named, and an empty one for the next."""
    panes: list[Pane] = []
    for number in range(1, MOST_DRUGS + 1):
        panes.append(drug_pane(number, answers, patient))
        if not answers.get(f"drug.{number}.drug", "").strip():
            break
    return tuple(panes)


def free_slot(answers: Answers) -> int:
    """Give the number of the first page that names no drug yet, else of the last there can be."""
    free = (n for n in range(1, MOST_DRUGS) if not answers.get(f"drug.{n}.drug", "").strip())
    return next(free, MOST_DRUGS)


@dataclass(frozen=True)
class ReadDrugs:
    """The drugs of a visit, with where each record's problems are shown."""

    given: tuple[DrugGiven, ...]
    dispensed: tuple[DrugDispensed, ...]
    places: tuple[tuple[str, str], ...]

    def place(self, path: str) -> str:
        """Give the form's path for a problem's path in the record."""
        for prefix, own in self.places:
            if path.startswith(f"{prefix}."):
                return own + path.removeprefix(prefix)
        return path


def told(cautions: tuple[Caution, ...], drugs: ReadDrugs) -> tuple[Problem, ...]:
    """Give cautions that do not refuse the visit, each under its field, with its source."""
    return tuple(
        Problem(drugs.place(c.field), f"{c.why} ({c.source})") for c in cautions if not c.refuses
    )


def read_drugs(r: Reading, answers: Answers, patient: Patient, at: dt.datetime) -> ReadDrugs:
    """Give the drugs of every page that names one."""
    given: list[DrugGiven] = []
    dispensed: list[DrugDispensed] = []
    places: list[tuple[str, str]] = []
    for number in range(1, MOST_DRUGS + 1):
        p = f"drug.{number}"
        drug = patient.named(r.get(f"{p}.drug") or "") if r.has(f"{p}.drug") else None
        if drug is None:
            continue
        left = r.get(f"{p}.use") == "left"
        option = patient.chosen(drug, answers.get(f"{p}.dose", ""), left=left)
        if left:
            places.append((f"dispensed.{len(dispensed)}", p))
            dispensed.append(_dispensed(p, r, drug, option, at))
        else:
            places.append((f"given.{len(given)}", p))
            vial = chosen_vial(p, r, drug.id, patient.shelf)
            given.append(from_vial(_given(p, r, drug, option, at), vial))
    return ReadDrugs(tuple(given), tuple(dispensed), tuple(places))


def _per_kg(amount: float | None, option: DoseOption | None) -> float | None:
    if amount is None or option is None or not option.amount:
        return None
    return option.per_kg * amount / option.amount


def _given(p: str, r: Reading, drug: Drug, option: DoseOption | None, at: dt.datetime) -> DrugGiven:
    amount = r.get(f"{p}.amount")
    volume = None
    if option is not None and option.volume_ml is not None and amount is not None:
        volume = amount / option.strength.amount
    return DrugGiven(
        drug=drug.id,
        name=drug.name,
        route=option.route if option else r.get(f"{p}.route") or r.get(f"{p}.dose") or "",
        amount=amount,
        unit=drug.unit,
        at=at,
        per_kg=_per_kg(amount, option),
        volume_ml=volume,
        strength=_strength(drug, option),
        sites=option.sites if option else None,
        batch=r.get(f"{p}.batch") or "",
        expiry=r.get(f"{p}.expiry"),
        given_by=r.get(f"{p}.use") or "vet",
        reason=r.get(f"{p}.reason") or "",
    )


def _strength(drug: Drug, option: DoseOption | None) -> str:
    return f"{option.strength.amount:g} {drug.unit}/{option.strength.per}" if option else ""


def _dispensed(
    p: str, r: Reading, drug: Drug, option: DoseOption | None, at: dt.datetime
) -> DrugDispensed:
    amount = r.get(f"{p}.amount")
    return DrugDispensed(
        drug=drug.id,
        name=drug.name,
        route=option.route if option else r.get(f"{p}.route") or r.get(f"{p}.dose") or "",
        amount=amount,
        unit=drug.unit,
        interval_h=r.get(f"{p}.interval_h") or 24.0,
        days=r.get(f"{p}.days") or 1.0,
        starts=at,
        per_kg=_per_kg(amount, option),
        owner_dose=r.get(f"{p}.owner_dose") or "",
        strength=_strength(drug, option),
        batch=r.get(f"{p}.batch") or "",
        expiry=r.get(f"{p}.expiry"),
        reason=r.get(f"{p}.reason") or "",
    )
