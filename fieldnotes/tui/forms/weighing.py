"""The weight in a visit: used for its doses, and kept with the horse when it is a new one."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.domain.entries import HorseSet
from fieldnotes.domain.patients import Weight, WeightMethod
from fieldnotes.tui.fields.choices import ChoiceField, of_words
from fieldnotes.tui.fields.measures import NumberField

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.casework.desk import Casework
    from fieldnotes.domain.patients import Horse
    from fieldnotes.tui.fields.field import Field
    from fieldnotes.tui.forms.form import Answers, Reading

WEIGHT, METHOD = "weight_kg", "weight_by"


def weight_fields(horse: Horse | None, answers: Answers) -> tuple[Field, ...]:
    """Give the weight as last known, and how it was got once another is typed."""
    known = horse.weight() if horse else None
    default = f"{known.kg:g}" if known else ""
    when = f"{known.method}, {known.on:%d %b %Y}; " if known else ""
    weight = NumberField(
        key=WEIGHT, label="Weight", unit="kg", least=20, most=1200, default=default,
        hint=f"{when}doses are reckoned from it; another one typed here is kept with the horse",
    )  # fmt: skip
    if not answers.get(WEIGHT, "").strip() or answers[WEIGHT].strip() == default:
        return (weight,)
    ways = of_words(m.value for m in WeightMethod)
    return (
        weight,
        ChoiceField(key=METHOD, label="Weight by", given=ways, default=WeightMethod.TAPE),
    )


def weighed(horse: Horse | None, r: Reading, on: dt.date) -> Weight | None:
    """Give a new weight that was typed; None if there is none."""
    kg = r.get(WEIGHT)
    if horse is None or kg is None or not r.has(METHOD):
        return None
    new = Weight(kg, WeightMethod(r.get(METHOD) or WeightMethod.TAPE), on)
    return None if new in horse.weights else new


def as_weighed(horse: Horse | None, weight: Weight | None) -> Horse | None:
    """Give a horse with its new weight."""
    if horse is None or weight is None or weight in horse.weights:
        return horse
    return replace(horse, weights=(*horse.weights, weight))


def keep_horse(desk: Casework, horse: Horse | None) -> None:
    """Put the horse in the register as a visit leaves it, if that changes anything."""
    if horse is not None and horse != desk.register().horses.get(horse.id):
        desk.save(HorseSet(horse))


def weight_words(horse: Horse | None, weight: Weight | None) -> str:
    """Say that a weight is kept; empty if there is none."""
    if horse is None or weight is None:
        return ""
    return f"{weight.kg:g} kg ({weight.method}) kept with {horse.name}"
