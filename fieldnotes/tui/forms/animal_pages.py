"""Pages about the animal that a visit asks for only where they matter: food chain, own limits."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.domain.agreements import Consent, ConsentKind
from fieldnotes.domain.patients import FoodChain, OwnLimits
from fieldnotes.tui.fields.choices import YES_NO, ChoiceField
from fieldnotes.tui.fields.field import Field
from fieldnotes.tui.fields.measures import number
from fieldnotes.tui.fields.moments import DateField
from fieldnotes.tui.forms.form import Pane

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.domain.patients import Horse
    from fieldnotes.knowledge.library import Library
    from fieldnotes.tui.forms.form import Answers, Reading

_SPAN = re.compile(r"(\d+(?:[.,]\d+)?)\s*(?:-|to)\s*(\d+(?:[.,]\d+)?)", re.ASCII)
OWN = (("temperature_c", "Temperature"), ("heart_per_min", "Heart rate"),
       ("breaths_per_min", "Breathing"))  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class SpanField(Field):
    """A range such as 36.5-37.8; empty is None."""

    unit: str = ""

    def _read(self, text: str) -> tuple[float, float] | None:
        if not text.strip():
            return None
        found = _SPAN.fullmatch(text.strip())
        low, high = (number(found[1]), number(found[2])) if found else (0.0, 0.0)
        if not low < high:
            self.refuse(f"'{text.strip()}' is not a range like 36.5-37.8")
        return low, high


def _restricted(horse: Horse | None, answers: Answers, library: Library) -> bool:
    """Whether a drug named in the form may not be given to a horse of the food chain."""
    if horse is None or horse.food_chain is FoodChain.EXCLUDED:
        return False
    barred = {x for r in library.interactions.rules if r.remedy for x in r.of}
    named = {a for key, a in answers.items() if key.startswith("drug.") and key.endswith(".drug")}
    return any(
        d.id in barred or barred.intersection(d.classes) for d in library.drugs if d.id in named
    )


def animal_pages(
    horse: Horse | None, answers: Answers, library: Library, today: dt.date
) -> tuple[Pane, ...]:
    """Give the pages this animal and its drugs ask for; mostly none."""
    pages = []
    if _restricted(horse, answers, library):
        pages.append(_food_chain(answers, today))
    if horse is not None and all(r.species != horse.species for r in library.vitals.ranges):
        pages.append(_own_limits(horse))
    return tuple(pages)


def _food_chain(answers: Answers, today: dt.date) -> Pane:
    signed = answers.get("food.out", "") == "yes"
    consent = (
        Field(key="food.by", label="Consent by", required=True),
        ChoiceField(key="food.written", label="In writing", given=YES_NO),
        DateField(key="food.document", label="Document since", today=today, past=True,
                  required=True, hint="the day the horse's document says so"),
    ) if signed else ()  # fmt: skip
    return Pane("food", "Food chain", (
        ChoiceField(key="food.out", label="Taken out", given=YES_NO,
                    hint="out of the food chain for life; a drug named here asks for it, "
                    "or choose another drug"),
        *consent,
    ))  # fmt: skip


def _own_limits(horse: Horse) -> Pane:
    known = horse.own_limits
    return Pane("normal", "Normal values", tuple(
        SpanField(key=f"normal.{name}", label=label, default=_shown(getattr(known, name)),
                  hint=f"no limit is published for a {horse.species}: what is normal for this "
                  "one, low-high; kept with the animal")
        for name, label in OWN
    ))  # fmt: skip


def _shown(span: tuple[float, float] | None) -> str:
    return f"{span[0]:g}-{span[1]:g}" if span else ""


def as_left(horse: Horse | None, r: Reading) -> Horse | None:
    """Give the horse with what these pages say of it."""
    if horse is None:
        return None
    if r.get("food.out"):
        horse = replace(horse, food_chain=FoodChain.EXCLUDED)
    if r.has(f"normal.{OWN[0][0]}"):
        horse = replace(horse, own_limits=OwnLimits(*(r.get(f"normal.{name}") for name, _ in OWN)))
    return horse


def exclusion(r: Reading, on: dt.date) -> Consent | None:
    """Give the consent to a lasting exclusion from the food chain; None where there is none."""
    if not r.get("food.out"):
        return None
    return Consent(
        ConsentKind.FOOD_CHAIN, on, "out of the food chain for life", by=r.get("food.by", ""),
        written=bool(r.get("food.written")), document_on=r.get("food.document"),
    )  # fmt: skip
