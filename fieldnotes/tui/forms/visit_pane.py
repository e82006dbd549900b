"""The page every visit has: when, vital signs, lameness, and what was said to the owner."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.clinical.vitals import grimace_total
from fieldnotes.domain.entries import Vitals
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.tui.fields.choices import ChoiceField, ManyField, lettered, of_words
from fieldnotes.tui.fields.field import Field, LongText
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.fields.moments import MomentField
from fieldnotes.tui.forms.form import Pane, Reading

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.domain.entries import Visit
    from fieldnotes.knowledge.library import Library
    from fieldnotes.knowledge.vitals import VitalTables

LIMBS = ("left fore", "right fore", "left hind", "right hind")


def visit_pane(now: dt.datetime, library: Library, hydration: str = "") -> Pane:
    """Give the page of the animal as a whole; hydration is asked until it was once found good."""
    states = (("good", "good"), ("poor", "poor"))
    asked = () if hydration == "good" else (
        ChoiceField(key="vitals.hydration", label="Hydration", given=lettered(states),
                    hint="asked once a case: an aminoglycoside or anti-inflammatory depends on it"),
    )  # fmt: skip
    grades = ((str(n), f"{n} {text}") for n, text in enumerate(library.vitals.lameness))
    ticks = (c.fact for c in library.interactions.conditions)
    return Pane("animal", "Animal", (
        MomentField(key="at", label="Seen", now=now, default="now"),
        NumberField(key="vitals.temperature_c", label="Temperature", unit="C"),
        NumberField(key="vitals.heart_per_min", label="Heart rate", unit="/min", whole=True),
        NumberField(key="vitals.breaths_per_min", label="Breathing", unit="/min", whole=True),
        NumberField(key="vitals.crt_s", label="Capillary refill", unit="s"),
        *asked,
        ManyField(key="conditions", label="Conditions", given=of_words(ticks)),
        ChoiceField(key="lameness", label="Lameness", given=lettered(grades),
                    hint="empty: not examined"),
        ChoiceField(key="lame_limb", label="Lame limb", given=of_words(LIMBS)),
        GrimaceField(key="vitals.grimace", label="Grimace scale", tables=library.vitals,
                     hint=", ".join(library.vitals.grimace_units)),
        LongText(key="instructions", label="Instructions", hint="to the owner"),
        Field(key="housing", label="Housing", hint="e.g. box rest"),
        LongText(key="reckoned", label="Reckoned", hint="how a figure was got: formula, inputs"),
    ))  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class GrimaceField(Field):
    """The facial units of the grimace scale, 0 to 2 each in the order of the hint: 211012."""

    tables: VitalTables

    def _read(self, text: str) -> int | None:
        figures = [c for c in text if not c.isspace() and c not in ",;"]
        if not figures:
            return None
        if not all(c.isdecimal() and c.isascii() for c in figures):
            self.refuse("six figures, each 0 absent, 1 moderate or 2 obvious")
        try:
            return grimace_total(self.tables, tuple(int(c) for c in figures))
        except RefusedInputError as error:
            raise RefusedInputError(self.key, error.reason) from error

    def echo(self, text: str) -> str:
        """Give the total out of the most there can be."""
        try:
            total = self._read(text)
        except RefusedInputError:
            return ""
        most = len(self.tables.grimace_units) * self.tables.grimace_most
        return "" if total is None else f"{total} of {most}"


def read_vitals(r: Reading) -> Vitals:
    """Give the vital signs of the page."""
    v = "vitals."
    return Vitals(
        r.get(f"{v}temperature_c"),
        r.get(f"{v}heart_per_min"),
        r.get(f"{v}breaths_per_min"),
        r.get(f"{v}crt_s"),
        hydration=r.get(f"{v}hydration") or "",
        grimace=r.get(f"{v}grimace"),
    )


def read_animal(visit: Visit, r: Reading) -> Visit:
    """Give a visit with what the page says of the animal as a whole."""
    grade = r.get("lameness")
    return replace(
        visit,
        vitals=read_vitals(r),
        lameness=int(grade) if grade else None,
        lame_limb=r.get("lame_limb") or "",
        conditions=r.get("conditions") or (),
        instructions=r.get("instructions", ""),
        housing=r.get("housing", ""),
        reckoned=r.get("reckoned", ""),
    )
