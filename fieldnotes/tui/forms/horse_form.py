"""The form of an animal: a new one, or what is known of the one a case is about."""

from __future__ import annotations

import re
import secrets
from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.casework.checks import status_problems
from fieldnotes.domain.entries import HorseSet
from fieldnotes.domain.patients import (
    FoodChain,
    Horse,
    Party,
    PartyRole,
    Sex,
    Species,
    Tetanus,
    TetanusHistory,
    Weight,
    WeightMethod,
)
from fieldnotes.tui.fields.choices import YES_NO, ChoiceField, lettered, of_words
from fieldnotes.tui.fields.field import Field, LongText, Option
from fieldnotes.tui.fields.moments import DateField
from fieldnotes.tui.forms.finding import added_by, find_among, named
from fieldnotes.tui.forms.form import Pane
from fieldnotes.tui.forms.register_forms import RegisterForm
from fieldnotes.tui.forms.weighing import WEIGHT, weight_field

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable

    from fieldnotes.casework.desk import Casework
    from fieldnotes.domain.errors import Problem
    from fieldnotes.tui.forms.form import Answers, Form, Reading

Fields = tuple[Field, ...]
TEXTS = (("breed", "Breed"), ("colour", "Colour"), ("markings", "Markings"),
         ("microchip", "Microchip"))  # fmt: skip
FINISHED, FIRST_ONLY = "finished", "first"
COURSES = lettered(((FINISHED, "finished"), (FIRST_ONLY, "dose 1 only")))
COURSE_OF = {True: FINISHED, False: FIRST_ONLY, None: ""}
_LIST = re.compile(r"[;,]")


class HorseForm(RegisterForm):
    """Two pages of what is known of an animal; `before` is what was known until now."""

    def __init__(  # noqa: PLR0917  (it has these parts)
        self,
        desk: Casework,
        name: str,
        words: str,
        pages: tuple[Fields, Fields],
        build: Callable[[Reading], HorseSet],
        before: Horse | None = None,
        case: str = "",
    ) -> None:
        super().__init__(desk, name, words, (), build)
        self._pane = (Pane(name, "Animal", pages[0]), Pane("rules", "For the rules", pages[1]))
        self._animal = build
        self._before = before
        self.case = case

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong, and a status of the food chain that cannot become another."""
        found = super().problems(answers)
        if found or self._before is None:
            return found
        return tuple(status_problems(self._before, self._animal(self.reading(answers)).horse))


def _yes(value: object) -> str:
    return "yes" if value else ""


def _about(desk: Casework, known: Horse, owner: str) -> Fields:
    register, today = desk.register(), desk.today()
    return (
        Field(key="name", label="Name", required=True, default=known.name),
        ChoiceField(key="species", label="Species", given=of_words(s.value for s in Species),
                    default=known.species, required=True),
        find_among("owner", "Owner", named(register.owners), "owner", required=True, default=owner,
                   adding=added_by("O")),
        find_among("premises", "Place", named(register.premises), "premises", required=True,
                   default=known.premises, adding=added_by("P")),
        ChoiceField(key="sex", label="Sex", given=of_words(s.value for s in Sex),
                    default=known.sex),
        DateField(key="born", label="Born", today=today, past=True,
                  default=known.born.isoformat() if known.born else ""),
        weight_field(desk.practice().units, hint="empty: as it is on record"),
        ChoiceField(key="method", label="Weight by", default=WeightMethod.TAPE,
                    given=of_words(m.value for m in WeightMethod)),
        DateField(key="tetanus", label="Last tetanus", today=today, past=True,
                  default=known.tetanus.last.isoformat() if known.tetanus.last else "",
                  hint="empty: unknown"),
        ChoiceField(key="tetanus_course", label="Tetanus course", given=COURSES,
                    default=COURSE_OF[known.tetanus.finished],
                    hint="was that dose the first of a course only?"),
        *(Field(key=k, label=w, default=getattr(known, k)) for k, w in TEXTS),
        LongText(key="note", label="Note", default=known.note),
    )  # fmt: skip


def _ruled(desk: Casework, known: Horse) -> Fields:
    """Give what the drug rules, the competition times and the owner's sheet ask for."""
    due = known.foaling_due
    drugs = desk.knowledge.drugs
    bodies = tuple(Option(b, b) for b in sorted({t.body for d in drugs for t in d.competition}))
    return (
        Field(key="allergies", label="Allergies", default="; ".join(known.allergies),
              hint="drug or class, as 'penicillin: hives; flunixin': it is refused without a "
              "reason"),
        Field(key="conditions", label="Conditions", default="; ".join(known.conditions),
              hint="renal disease, penile wound ...: what the drug rules ask for"),
        Field(key="document", label="Document", default=known.document),
        ChoiceField(key="food_chain", label="Food chain", default=known.food_chain,
                    given=of_words(f.value for f in FoodChain),
                    hint="as the animal's document has it; taking it out for life is a consent "
                    "with the document's date"),
        ChoiceField(key="competes", label="Competes", given=YES_NO, default=_yes(known.competes)),
        find_among("governing_body", "Under rules of", bodies, "body", free=True,
                   default=known.governing_body, hint="its published times stand first"),
        DateField(key="foaling_due", label="Foaling due", today=desk.today(),
                  default=due.isoformat() if due else "", hint="a mare in foal"),
        ChoiceField(key="lactating", label="Foal at foot", given=YES_NO,
                    default=_yes(known.lactating)),
    )  # fmt: skip


def _listed(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in _LIST.split(text) if part.strip())


def _parties(known: Horse, owner: str, today: dt.date) -> tuple[Party, ...]:
    """Give the parties with an owner, from today on where it is another than before."""
    if known.party(PartyRole.OWNER, today) == owner:
        return known.parties
    if not known.parties:
        return (Party(PartyRole.OWNER, owner),)
    ended = (
        replace(p, until=p.until or today) if p.role is PartyRole.OWNER else p
        for p in known.parties
    )
    return (Party(PartyRole.OWNER, owner, since=today), *ended)


def _tetanus(known: Tetanus, last: dt.date | None, course: str) -> Tetanus:
    if last is None:
        return Tetanus() if known.last else known
    return Tetanus(TetanusHistory.DATED, last, {FINISHED: True, FIRST_ONLY: False}.get(course))


def _read(r: Reading, known: Horse, today: dt.date) -> Horse:
    kg = r.get(WEIGHT)
    method = WeightMethod(r.get("method") or WeightMethod.TAPE)
    weights = known.weights if kg is None else (*known.weights, Weight(kg, method, today))
    texts = {
        k: r.get(k, "") for k in ("governing_body", "note", "document", *(k for k, _ in TEXTS))
    }
    return replace(
        known, name=r.get("name", ""), species=Species(r.get("species") or Species.HORSE),
        premises=r.get("premises", ""), parties=_parties(known, r.get("owner", ""), today),
        sex=Sex(r.get("sex") or Sex.UNKNOWN), born=r.get("born"), weights=weights,
        tetanus=_tetanus(known.tetanus, r.get("tetanus"), r.get("tetanus_course") or ""),
        allergies=_listed(r.get("allergies", "")), conditions=_listed(r.get("conditions", "")),
        food_chain=FoodChain(r.get("food_chain") or FoodChain.UNKNOWN),
        competes=bool(r.get("competes")), foaling_due=r.get("foaling_due"),
        lactating=bool(r.get("lactating")), **texts,
    )  # fmt: skip


def new_horse(desk: Casework, _ref: str = "") -> Form:
    """Give the form for a new animal."""
    blank = Horse(f"horse-{secrets.token_hex(4)}", "", Species.HORSE, "")
    pages = _about(desk, blank, ""), _ruled(desk, blank)
    return HorseForm(
        desk, "horse", "New horse", pages, lambda r: HorseSet(_read(r, blank, desk.today()))
    )


def animal(desk: Casework, ref: str) -> Form:
    """Give the form for what is known of the animal a case is about."""
    file, today = desk.file(ref), desk.today()
    known = file.horse
    pages = _about(desk, known, known.party(PartyRole.OWNER, today) or ""), _ruled(desk, known)
    return HorseForm(
        desk, "animal", f"Animal: {known.name}", pages,
        lambda r: HorseSet(_read(r, known, today)), known, file.case.ref,
    )  # fmt: skip
