"""The weight in a visit: used for its doses, and kept with the horse when it is a new one."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.casework.caution import Caution
from fieldnotes.clinical.weight import leap_words
from fieldnotes.domain.body_weight import US, read_weight, weight_answer, weight_text
from fieldnotes.domain.entries import HorseSet
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.patients import Weight, WeightMethod
from fieldnotes.tui.fields.choices import ChoiceField, of_words
from fieldnotes.tui.fields.weights import WeightField

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.casework.desk import Casework
    from fieldnotes.domain.patients import Horse
    from fieldnotes.tui.fields.field import Field
    from fieldnotes.tui.forms.form import Answers, Reading

WEIGHT, METHOD = "weight_kg", "weight_by"


def weight_field(units: str, *, required: bool = False, hint: str = "") -> WeightField:
    """Give the field of a weight that is asked for by itself."""
    pounds = "a bare figure is pounds" if units == US else ""
    said = "; ".join(filter(None, (pounds, hint)))
    return WeightField(key=WEIGHT, label="Weight", units=units, required=required, hint=said)


def weight_fields(horse: Horse | None, answers: Answers, units: str) -> tuple[Field, ...]:
    """Give the weight as last known, and how it was got once another is typed."""
    known = horse.weight() if horse else None
    default = weight_answer(known.kg, units) if known else ""
    when = f"{known.method}, {known.on:%d %b %Y}; " if known else ""
    weight = WeightField(
        key=WEIGHT, label="Weight", units=units, default=default,
        hint=f"{when}doses are reckoned from it; another one typed here is kept with the horse",
    )  # fmt: skip
    if not answers.get(WEIGHT, "").strip() or _same(answers[WEIGHT], known, units):
        return (weight,)
    ways = of_words(m.value for m in WeightMethod)
    return (
        weight,
        ChoiceField(key=METHOD, label="Weight by", given=ways, default=WeightMethod.TAPE),
    )


def _same(text: str, known: Weight | None, units: str) -> bool:
    """Say whether a typed weight is the one on record, in whatever unit it is typed."""
    try:
        return known is not None and read_weight(text, units) == known.kg
    except RefusedInputError:
        return False


def weighed(horse: Horse | None, r: Reading, on: dt.date) -> Weight | None:
    """Give a new weight that was typed; None if there is none."""
    kg = r.get(WEIGHT)
    if horse is None or kg is None or not r.has(METHOD):
        return None
    new = Weight(kg, WeightMethod(r.get(METHOD) or WeightMethod.TAPE), on)
    return None if new in horse.weights else new


def weight_cautions(horse: Horse | None, weight: Weight | None, units: str) -> tuple[Caution, ...]:
    """Give a new weight that lies far from the known one: every dose follows it."""
    known = horse.weight() if horse else None
    leap = leap_words(weight.kg, known.kg) if known and weight else ""
    if not known or not leap:
        return ()
    was = f"{weight_text(known.kg, units)}, {known.method}, {known.on:%d %b %Y}"
    why = f"{leap} ({was}): right animal, right unit? Every dose is reckoned from it"
    return (Caution("warn", WEIGHT, why, "practice default"),)


def as_weighed(horse: Horse | None, weight: Weight | None) -> Horse | None:
    """Give a horse with its new weight."""
    if horse is None or weight is None or weight in horse.weights:
        return horse
    return replace(horse, weights=(*horse.weights, weight))


def keep_horse(desk: Casework, horse: Horse | None) -> None:
    """Put the horse in the register as a visit leaves it, if that changes anything."""
    if horse is not None and horse != desk.register().horses.get(horse.id):
        desk.save(HorseSet(horse))


def weight_words(horse: Horse | None, weight: Weight | None, units: str) -> str:
    """Say that a weight is kept; empty if there is none."""
    if horse is None or weight is None:
        return ""
    return f"{weight_text(weight.kg, units)} ({weight.method}) kept with {horse.name}"
