"""The page every visit has: when, vital signs, lameness, and what was said to the owner."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.entries import Vitals
from fieldnotes.tui.fields.choices import ChoiceField, of_words
from fieldnotes.tui.fields.field import Field, LongText
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.fields.moments import MomentField
from fieldnotes.tui.forms.form import Pane, Reading

if TYPE_CHECKING:
    import datetime as dt

LIMBS = ("left fore", "right fore", "left hind", "right hind")


def visit_pane(now: dt.datetime) -> Pane:
    """Give the page of the animal as a whole."""
    return Pane("animal", "Animal", (
        MomentField(key="at", label="Visit at", now=now, default="now"),
        NumberField(key="vitals.temperature_c", label="Temperature", unit="C"),
        NumberField(key="vitals.heart_per_min", label="Heart rate", unit="/min", whole=True),
        NumberField(key="vitals.breaths_per_min", label="Breathing", unit="/min", whole=True),
        NumberField(key="vitals.crt_s", label="Capillary refill", unit="s"),
        ChoiceField(key="lameness", label="Lameness", given=of_words("012345"),
                    hint="0 sound to 5 not bearing weight; empty: not examined"),
        ChoiceField(key="lame_limb", label="Lame limb", given=of_words(LIMBS)),
        LongText(key="instructions", label="Instructions", hint="to the owner"),
        Field(key="housing", label="Housing", hint="e.g. box rest"),
    ))  # fmt: skip


def read_vitals(r: Reading) -> Vitals:
    """Give the vital signs of the page."""
    v = "vitals."
    return Vitals(
        r.get(f"{v}temperature_c"),
        r.get(f"{v}heart_per_min"),
        r.get(f"{v}breaths_per_min"),
        r.get(f"{v}crt_s"),
    )


def read_lameness(r: Reading) -> int | None:
    """Give the lameness grade."""
    grade = r.get("lameness")
    return int(grade) if grade else None
