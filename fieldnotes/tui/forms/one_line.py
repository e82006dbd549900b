"""Fills a visit form from a note in one line: each answer with the words it was read from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.tui.fields.weights import WeightField
from fieldnotes.tui.forms.drug_panes import MOST_DRUGS
from fieldnotes.tui.forms.form import fits
from fieldnotes.tui.forms.weighing import WEIGHT

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from fieldnotes.clinical.one_line_found import Given, OneLine, Said
    from fieldnotes.knowledge.drugs import Drug
    from fieldnotes.tui.fields.field import Field
    from fieldnotes.tui.forms.drug_panes import Patient
    from fieldnotes.tui.forms.fillable import FillableForm
    from fieldnotes.tui.forms.form import Answers

_PLACES: Mapping[str, str] = {
    "horse": "horse",
    "injured": "injured_at",
    "mechanism": "mechanism",
    "weight_kg": WEIGHT,
    "region": "wounds.{}.region",
    "kind": "wounds.{}.kind",
    "contamination": "wounds.{}.contamination",
    "phase": "findings.{}.phase",
    "exudate": "findings.{}.exudate",
    "granulation_grade": "findings.{}.granulation_grade",
    "infection_signs": "findings.{}.infection_signs",
    "exposed": "findings.{}.exposed",
    "synovial_entry": "findings.{}.synovial_entry",
    "dehiscence": "findings.{}.dehiscence",
    "removed": "care.{}.removed",
    "trimmed": "care.{}.granulation_trimmed",
    "clipped": "care.{}.clipped",
    "lavage": "care.{}.lavage",
    "debridement": "care.{}.debridement",
    "closure": "care.{}.closure",
    "placed": "care.{}.placed",
    "topical": "care.{}.topical",
    "bandage": "care.{}.bandage",
    "dressing": "care.{}.layer.dressing",
    "changed_by": "care.{}.changed_by",
    "change_every_days": "care.{}.every",
    "shown": "care.{}.shown",
    "exploration": "care.{}.exploration",
    "radiographs": "care.{}.radiographs",
    "culture": "care.{}.culture",
    "temperature_c": "vitals.temperature_c",
    "heart_per_min": "vitals.heart_per_min",
    "breaths_per_min": "vitals.breaths_per_min",
    "crt_s": "vitals.crt_s",
    "hydration": "vitals.hydration",
    "lameness": "lameness",
    "lame_limb": "lame_limb",
    "housing": "housing",
}
_SIDES = ("length_mm", "width_mm", "depth_mm")


@dataclass(frozen=True)
class Put:
    """An answer to put into a field: where, what, as shown, from which words; a guess or not."""

    key: str
    answer: str
    place: str
    shown: str
    words: str
    guess: bool = False


@dataclass(frozen=True)
class Filled:
    """What a note puts into a form, and what it keeps as text in the wound's note."""

    puts: tuple[Put, ...]
    kept: tuple[str, ...]


def _answer(value: str | float | tuple[str, ...]) -> str:
    if isinstance(value, tuple):
        return ",".join(value)
    return f"{value:g}" if isinstance(value, float | int) else value


def _size(note: OneLine) -> Iterable[tuple[str, str, Said]]:
    """Give the sides of a wound as one answer in cm, or its area."""
    by_name = {s.field: s for s in note.said}
    area = by_name.get("area_cm2")
    sides = [by_name[n] for n in _SIDES if n in by_name]
    if area is not None:
        yield "findings.{}.size", f"{area.value:g} cm2", area
    elif sides and sides[0].field == "length_mm":
        text = " x ".join(f"{float(str(s.value)) / 10:g}" for s in sides)
        yield "findings.{}.size", text, sides[0]


def _wanted(note: OneLine, label: str) -> list[tuple[str, str, Said]]:
    rows = [(_PLACES[s.field], _answer(s.value), s) for s in note.said if s.field in _PLACES]
    return [(key.format(label), answer, said) for key, answer, said in (*rows, *_size(note))]


def fill(form: FillableForm, answers: Answers, note: OneLine, label: str) -> Filled:
    """Give what a note puts into the form as it stands, for the wound of this letter.

    What no field takes, and what is not sure, is kept as text; nothing is left out.
    """
    wanted = _wanted(note, label)
    drugs = _drugs(form, {**answers, **{k: a for k, a, _ in wanted}}, note.given)
    trial = {**answers, **{k: a for k, a, _ in wanted}, **{k: a for k, a, _ in drugs}}
    fields = {f.key: (p.title, f) for p in form.panes(trial) for f in p.fields}
    puts: list[Put] = []
    kept = list(note.rest)
    for key, answer, said in wanted:
        place, field = fields.get(key, ("", None))
        if isinstance(field, WeightField):
            answer = field.typed(float(answer))  # noqa: PLW2901  (a note's is in kilograms)
        if field is not None and fits(field, answer):
            where = f"{place}, {field.label}"
            puts.append(Put(key, answer, where, field.shown(answer), said.words, said.guess))
        else:
            kept.append(said.words)
    used = {s.words for _, _, s in wanted}
    kept += [s.words for s in note.said if s.words not in used]
    for key, answer, given in drugs:
        place, field = fields.get(key, ("", None))
        if field is not None:
            where = f"{place}, {field.label}"
            puts.append(Put(key, answer, where, field.shown(answer), given.words, guess=True))
    dosed = {given.words for key, _, given in drugs if key.endswith(".amount")}
    kept += [g.words for g in note.given if (g.amount or g.route) and g.words not in dosed]
    puts += _unsure(note, label, fields, kept)
    order = list(fields)
    puts.sort(key=lambda put: order.index(put.key))
    return Filled(tuple(puts), tuple(dict.fromkeys(kept)))


def _drugs(
    form: FillableForm, answers: Answers, given: tuple[Given, ...]
) -> list[tuple[str, str, Given]]:
    """Give a page for each drug; of what was said, only a dose its page can hold as it is."""
    free = [n for n in range(1, MOST_DRUGS + 1) if not answers.get(f"drug.{n}.drug", "").strip()]
    patient = form.patient(answers)
    found: list[tuple[str, str, Given]] = []
    for n, drug_given in zip(free, given, strict=False):
        drug = patient.named(drug_given.drug)
        if drug is not None:
            found.append((f"drug.{n}.drug", drug.id, drug_given))
            dose = _dose(drug, patient, drug_given)
            found += [(f"drug.{n}.{part}", text, drug_given) for part, text in dose]
    return found


def _dose(drug: Drug, patient: Patient, given: Given) -> tuple[tuple[str, str], ...]:
    """Give route and amount where both were said and are the formulary's; else nothing.

    A volume needs the strength of what was in the hand, and a dose per kg is the page's own.
    """
    mg = {"g": 1000.0, "mg": 1.0}.get(given.unit) if drug.unit == "mg" else None
    factor = 1.0 if given.unit == drug.unit.casefold() else mg
    if given.amount is None or factor is None or not given.route:
        return ()
    amount = ("amount", f"{given.amount * factor:g}")
    options = patient.options(drug)
    if not options:
        return (("route", given.route), amount)
    of_route = [n for n, option in enumerate(options) if option.route == given.route]
    return (("dose", str(of_route[0])), amount) if of_route else ()


def _unsure(
    note: OneLine, label: str, fields: Mapping[str, tuple[str, Field]], kept: list[str]
) -> list[Put]:
    """Put the words for a region that may be several into its field, which offers them."""
    puts = []
    for unsure in note.unsure:
        key = f"wounds.{label}.region"
        if unsure.field == "region" and key in fields:
            place, field = fields[key]
            puts.append(
                Put(key, unsure.words, f"{place}, {field.label}", "which one?", unsure.words, True)
            )
        else:
            kept.append(unsure.words)
    return puts


def note_answer(before: str, kept: tuple[str, ...]) -> str:
    """Give the wound's note with the words kept as text behind what it says already."""
    new = [text for text in kept if text not in before]
    return "; ".join(filter(None, (before.strip(), *new)))


def lines_of(filled: Filled, note: OneLine, width: int) -> tuple[str, ...]:
    """Give what was understood, a line a field: guesses with ?, what is left to choose with !."""
    unsure = {u.words for u in note.unsure}
    rows = []
    for put in filled.puts:
        sign = "!" if put.words in unsure else "?" if put.guess else " "
        rows.append(f"{sign} {put.place:<24.24} {put.shown:<28.28} {put.words}"[:width])
    if filled.kept:
        rows.append(f"  {'kept as text':<24} {'; '.join(filled.kept)}")
    return tuple(rows)
