"""Calculators of drugs: a dose from weight to volume, and local anaesthetic over all wounds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.drug_cautions import dose_faults
from fieldnotes.casework.treatments import Placed
from fieldnotes.clinical.costs import dose_cost
from fieldnotes.clinical.courses import course, dose_times
from fieldnotes.clinical.day_totals import day_totals
from fieldnotes.clinical.dose_text import (
    amount_text,
    dose_line,
    per_kg_text,
    strength_text,
    unconfirmed,
)
from fieldnotes.clinical.doses import WEIGHT_KG, dose, read_per_kg
from fieldnotes.clinical.patient_facts import Treatment
from fieldnotes.clinical.reckoned_text import CAUTION
from fieldnotes.domain.body_weight import US, weight_answer
from fieldnotes.domain.errors import Problem, RefusedInputError
from fieldnotes.domain.patients import Species
from fieldnotes.domain.treatment import DrugGiven
from fieldnotes.tui.fields.choices import ChoiceField, lettered
from fieldnotes.tui.fields.field import Field
from fieldnotes.tui.fields.measures import NumberField, plain
from fieldnotes.tui.fields.weights import WeightField
from fieldnotes.tui.forms.drug_panes import amount_answer, option_words
from fieldnotes.tui.forms.finding import find_drug
from fieldnotes.tui.forms.form import Answers, Pane, Reading
from fieldnotes.tui.forms.reckon_page import Reckoned, animal, needed, whose

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.casework.caution import Caution
    from fieldnotes.clinical.day_totals import DayTotal
    from fieldnotes.clinical.doses import DoseOption
    from fieldnotes.domain.patients import Horse
    from fieldnotes.knowledge.drugs import Drug, Strength
    from fieldnotes.tui.forms.reckon_page import Bench

LOCAL = "local anaesthetic"
NO_WEIGHT = "without a weight no volume is reckoned; the note is kept all the same"
NEXT_DOSES = 4
MICROGRAMS = tuple(
    (f"{sign}g{per}", 0.001) for sign in ("u", "mc", "µ", "μ") for per in ("/kg", "")
)
ALL_THE_SAME = "give a reason to do it all the same"


def _weight_field(bench: Bench) -> WeightField:
    kg, units = bench.patient.weight_kg, bench.patient.units
    bare = "pounds, or kilograms as 480 kg" if units == US else "kg, or pounds as 1000 lb"
    return WeightField(
        key="weight_kg", label="Weight", units=units, least=WEIGHT_KG[0], most=WEIGHT_KG[1],
        default="" if kg is None else weight_answer(kg, units), hint=f"{bare}; {NO_WEIGHT}",
    )  # fmt: skip


def _reason() -> Field:
    return Field(key="reason", label="Reason", hint="for a dose outside its range or over a limit")


# ----- one dose


def _options(bench: Bench, drug: Drug, kg: float, horse: Horse) -> tuple[DoseOption, ...]:
    """Give the ways a drug is given; RefusedInputError where none is published."""
    age = horse.age_days(bench.today)
    return dose(drug, kg, age_days=age, species=horse.species.value).options


def _ways(options: tuple[DoseOption, ...], horse: Horse) -> list[tuple[str, str]]:
    """Give each way by its number; of a donkey or mule only route and strength, no horse's dose."""
    if horse.species is Species.HORSE:
        return [(str(n), option_words(o)) for n, o in enumerate(options)]
    said = {f"{o.route} {o.strength.form}, {strength_text(o)}": n for n, o in enumerate(options)}
    return [(str(n), words) for words, n in said.items()]


def dose_fields(bench: Bench, answers: Answers) -> tuple[Field, ...]:
    """Give drug and weight, then the published doses, a dose of one's own, days and reason."""
    p, known = f"drug.{bench.slot}", bench.patient.drugs
    drug_field = find_drug("drug", "Drug", known, default=bench.typed(f"{p}.drug"), required=True)
    first = (drug_field, _weight_field(bench), *whose(bench))
    r = Reading((Pane("", "", first),), answers)
    drug, kg, horse = bench.patient.named(r.get("drug") or ""), r.get("weight_kg"), animal(bench, r)
    if drug is None or kg is None or not drug.regimens:
        return first
    own = bench.typed(f"{p}.dose") if bench.typed(f"{p}.drug") == drug.id else ""
    ways = _ways(_options(bench, drug, kg, horse), horse)
    default = own if own in {n for n, _ in ways} else ways[0][0] if ways else ""
    small = MICROGRAMS if drug.unit == "mg" else ()
    return (
        *first,
        ChoiceField(key="dose", label="Dose", given=lettered(ways), default=default,
                    also=("route",)),
        NumberField(key="per_kg", label="Own dose", unit=f"{drug.unit}/kg",
                    scales=((drug.unit.casefold(), 1.0), *small),
                    hint="per kg, by the route chosen above; empty: the published dose"),
        NumberField(key="days", label="For", unit="days", least=0.5, most=120,
                    hint="adds the course up"),
        _reason(),
    )  # fmt: skip


def _chosen(bench: Bench, r: Reading, drug: Drug, kg: float) -> tuple[DoseOption, tuple[str, ...]]:
    """Give the dose as published or as typed, with what must be said of it."""
    horse = animal(bench, r)
    age, species = horse.age_days(bench.today), horse.species.value
    listed = dose(drug, kg, age_days=age, species=species)
    n = int(r.get("dose") or 0)
    if n >= len(listed.options):
        raise RefusedInputError("dose", f"no dose of {drug.name} is published for this animal")
    way, typed = listed.options[n], r.get("per_kg")
    if typed is None:
        if horse.species is not Species.HORSE:
            why = f"doses here are published for horses, none for a {species}: type one"
            raise RefusedInputError("per_kg", why)
        return way, listed.warnings
    value, said = read_per_kg(drug, typed)
    own = dose(drug, kg, per_kg=value, route=way.route, age_days=age, species=species)
    option = next(o for o in own.options if o.strength == way.strength)
    return option, (*((said,) if said else ()), *own.warnings)


def _faults(
    bench: Bench, r: Reading, drug: Drug, option: DoseOption, kg: float
) -> tuple[Caution, ...]:
    """Give what the visit's own check will say of this dose; nothing of another species."""
    horse, now, reason = animal(bench, r), bench.patient.now, r.get("reason") or ""
    if horse.species is not Species.HORSE:
        return ()
    given = DrugGiven(
        drug.id, drug.name, option.route, option.amount, option.unit, now,
        volume_ml=option.volume_ml, reason=reason,
    )  # fmt: skip
    treatment = Treatment(drug.id, option.route, now, now, amount=option.amount)
    item = Placed(treatment, "", reason, drug=given)
    return tuple(dose_faults(item, kg, horse.age_days(bench.today), bench.library))


def _refused(why: str) -> Problem:
    return Problem("reason", f"{why}: {ALL_THE_SAME}")


def _course_lines(bench: Bench, option: DoseOption, days: float | None) -> Iterator[str]:
    if option.interval_h:
        times = dose_times(bench.patient.now, option.interval_h, NEXT_DOSES)[1:]
        yield "  given now, next: " + ", ".join(f"{t:%a %d %b %H:%M}" for t in times)
    if days:
        whole = course(option, days)
        size = f"{plain(whole.volume_ml)} mL" if whole.volume_ml is not None else ""
        size = size or f"{plain(whole.units or 0)} {whole.unit_name}"
        packs = f" = {whole.containers} to dispense" if whole.containers else ""
        yield f"  {days:g} days: {whole.doses} doses, {size}{packs}"


def _working(option: DoseOption, kg: float) -> str:
    if option.in_all:
        return f"{per_kg_text(option)}, whatever it weighs"
    return f"amount = {per_kg_text(option)} x {kg:g} kg; what is drawn up = amount / strength"


def one_dose(bench: Bench, r: Reading) -> Reckoned:
    """Reckon amount, volume or count, sites, next doses and course of one drug."""
    drug = bench.patient.named(r.get("drug"))
    if drug is None:
        raise RefusedInputError("drug", "which drug?")
    kg = needed(r, "weight_kg", NO_WEIGHT)
    option, warnings = _chosen(bench, r, drug, kg)
    faults = _faults(bench, r, drug, option, kg)
    line, working, cost = dose_line(drug.name, option), _working(option, kg), ""
    if priced := dose_cost(drug.name, option, bench.patient.prices):
        cost = f"  costs {priced.text}"
    reason, p = r.get("reason") or "", bench.page_of(drug.id)
    lines = (
        *(() if drug.confirmed else (f"! {unconfirmed(drug.name)}",)),
        line,
        f"  {working}",
        *(f"! {c.why} ({c.source})" for c in faults if not c.refuses),
        *(f"  {text}" for text in option.limits),
        *((cost,) if cost else ()),
        *_course_lines(bench, option, r.get("days")),
        *(f"! {text}" for text in warnings if not any(text in c.why for c in faults)),
        *(
            f"  {c.kind.replace('_', ' ')}: {c.text} ({c.source})"
            for c in drug.cautions
            if c.kind != "route"
        ),
        CAUTION,
    )
    left = bench.typed(f"{p}.use") == "left"
    puts = (
        (f"{p}.drug", drug.id), (f"{p}.dose", r.get("dose") or "0"), (f"{p}.route", option.route),
        (f"{p}.amount", amount_answer(option.amount)), (f"{p}.reason", reason),
        (f"{p}.days", f"{r.get('days'):g}" if left and r.get("days") else ""),
    )  # fmt: skip
    stops = tuple(_refused(c.why) for c in faults if c.refuses)
    note = f"{line}; {working}{f'; reason: {reason}' if reason else ''}"
    return Reckoned(lines, note, puts, stops)


# ----- local anaesthetic


def _locals(bench: Bench) -> dict[str, Drug]:
    return {d.id: d for d in bench.patient.drugs if LOCAL in d.classes}


def local_fields(bench: Bench, answers: Answers) -> tuple[Field, ...]:
    """Give drug, strength and what is about to be put in."""
    known = _locals(bench)
    own = bench.typed(f"drug.{bench.slot}.drug")
    default = own if own in known else next(iter(known), "")
    drug = known.get(answers.get("drug", default))
    liquids = _liquids(drug) if drug else ()
    names = (
        (str(n), f"{s.amount:g} {drug.unit if drug else ''}/mL") for n, s in enumerate(liquids)
    )
    return (
        ChoiceField(key="drug", label="Anaesthetic", default=default, required=True,
                    given=lettered((d.id, d.name) for d in known.values())),
        ChoiceField(key="strength", label="Strength", given=lettered(names), default="0"),
        _weight_field(bench),
        *whose(bench),
        NumberField(key="volume_ml", label="To be put in", unit="mL", most=1000,
                    hint="now; what stands on record of today and in this visit is added"),
        Field(key="where", label="Where", default=f"wound {bench.label}" if bench.label else ""),
        _reason(),
    )  # fmt: skip


def _liquids(drug: Drug) -> tuple[Strength, ...]:
    return tuple(s for s in drug.strengths if s.per == "mL")


def _ceiling_lines(total: DayTotal, strength: Strength) -> Iterator[str]:
    for limit in total.ceilings:
        left = limit.value * total.weight_kg - total.amount
        most = f"at most {limit.value:g} {total.drug.unit}/kg ({limit.label}; {limit.source})"
        room = f"{plain(abs(left) / strength.amount)} mL"
        yield f"! OVER: {most} by {room}" if limit in total.passed else f"  {most}: {room} left"
    if not total.ceilings:
        yield f"! no ceiling is held for {total.drug.name}"


def _over(total: DayTotal, volume: float) -> Iterator[str]:
    unit = total.drug.unit
    for x in total.passed:
        yield f"{total.per_kg:.2f} {unit}/kg over {x.value:g} {unit}/kg ({x.label})"
    for x in total.drug.limits:
        if x.kind == "ml_total" and volume > x.value:
            yield f"{plain(volume)} mL over {x.value:g} mL ({x.label})"


def _limit_lines(total: DayTotal, strength: Strength, horse: Horse) -> Iterator[str]:
    """Give every ceiling with the room it leaves; no horse's is put on another species."""
    if horse.species is not Species.HORSE:
        yield f"! ceilings are published for horses, none for a {horse.species}"
        return
    yield from _ceiling_lines(total, strength)
    for x in total.drug.limits:
        if x.kind == "ml_total":
            yield f"  at most {x.value:g} mL ({x.label}; {x.source})"


def _today(bench: Bench, more: Treatment, kg: float) -> tuple[DayTotal, tuple[DayTotal, ...]]:
    """Give today's total of the drug about to be given, and those of the other anaesthetics.

    What stands on the page it goes to is replaced by it, and not counted twice.
    """
    gone = bench.in_slot if bench.in_slot and bench.in_slot.drug == more.drug else None
    today = (t for t in bench.given if t.start.date() == bench.today and t is not gone)
    totals = {t.drug.id: t for t in day_totals((*today, more), _locals(bench), kg)}
    return totals.pop(more.drug), tuple(totals.values())


def local(bench: Bench, r: Reading) -> Reckoned:
    """Add one more infiltration to all the animal had today, over every wound."""
    horse, now = animal(bench, r), bench.patient.now
    drug = _locals(bench)[r.get("drug")]
    unit = drug.unit
    kg = needed(r, "weight_kg", "without a weight no total per kg is reckoned")
    volume = needed(r, "volume_ml", "how much is about to be put in?")
    if not volume:
        raise RefusedInputError("volume_ml", "more than 0 is needed")
    strength = _liquids(drug)[int(r.get("strength") or 0)]
    route = next((x.route for x in drug.regimens), "infiltration")
    amount = volume * strength.amount
    total, others = _today(bench, Treatment(drug.id, route, now, now, amount=amount), kg)
    line = (
        f"{drug.name} {plain(volume)} mL of {strength.amount:g} {unit}/mL = "
        f"{amount_text(amount, unit)}; today over all wounds {amount_text(total.amount, unit)} = "
        f"{total.per_kg:.2f} {unit}/kg at {kg:g} kg"
    )
    lines = (
        *(() if drug.confirmed else (f"! {unconfirmed(drug.name)}",)),
        line,
        f"  before this: {amount_text(total.amount - amount, unit)} on record and in this visit",
        *_limit_lines(total, strength, horse),
        *(f"! also today: {t.drug.name} {amount_text(t.amount, t.drug.unit)}" for t in others),
        "  total = sum of volume x strength; per kg = total / weight; source: arithmetic",
        CAUTION,
    )
    reason, p, where = r.get("reason") or "", bench.page_of(drug.id), r.get("where") or ""
    puts = (
        (f"{p}.drug", drug.id), (f"{p}.dose", _way(bench, drug, route, strength)),
        (f"{p}.route", route), (f"{p}.amount", amount_answer(amount)), (f"{p}.reason", reason),
    )  # fmt: skip
    held = horse.species is Species.HORSE and not reason.strip()
    stops = tuple(_refused(why) for why in _over(total, volume)) if held else ()
    said = "".join(f"; {x}" for x in (where, f"reason: {reason}" if reason else "") if x)
    return Reckoned(lines, f"{line}{said}", puts, stops)


def _way(bench: Bench, drug: Drug, route: str, strength: Strength) -> str:
    """Give the form's number for a route and strength; empty where it offers none."""
    ways = enumerate(bench.patient.options(drug))
    return next((str(n) for n, o in ways if o.route == route and o.strength == strength), "")
