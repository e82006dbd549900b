"""The first visit: opens a case of a known horse, wound by wound, with what was done and given."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.domain.entries import CaseOpened, Visit, VisitKind
from fieldnotes.tui.fields.field import Field, LongText
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.fields.moments import MomentField
from fieldnotes.tui.forms.drug_panes import Patient, drug_panes, read_drugs
from fieldnotes.tui.forms.finding import find_among, horse_options, named
from fieldnotes.tui.forms.form import Answers, Form, Pane, Reading
from fieldnotes.tui.forms.visit_pane import read_lameness, read_vitals, visit_pane
from fieldnotes.tui.forms.wound_panes import (
    care_pane,
    read_care,
    read_finding,
    read_wound,
    wound_pane,
)

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.errors import Problem

LABELS = "ABCDEFGH"


class FirstVisit(Form):
    """A new case."""

    name = "first_visit"
    title = "New case: first visit"
    offers_handout = True

    def __init__(self, desk: Casework, _ref: str = "") -> None:
        self._desk = desk
        self._register = desk.register()
        self._now = desk.now()
        self._regions = desk.knowledge.regions
        self._drugs = desk.knowledge.drugs
        self._horses = horse_options(self._register, self._now.date())
        self._places = named(self._register.premises)

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the pages: case, each wound and its care, drugs, the animal as a whole."""
        wounds: list[Pane] = []
        for label in _labels(answers):
            region = answers.get(f"wounds.{label}.region", "")
            wounds.append(wound_pane(label, self._regions))
            wounds.append(care_pane(label, region, self._regions, first=True))
        drugs = drug_panes(answers, self._patient(answers))
        return (self._case_pane(answers), *wounds, *drugs, visit_pane(self._now))

    def _case_pane(self, answers: Answers) -> Pane:
        horse = self._register.horses.get(answers.get("horse", ""))
        weight = horse.weight() if horse else None
        people = named(self._register.people)
        signs = people[0].id if people else ""
        return Pane("case", "Case", (
            find_among("horse", "Horse", self._horses, "horse of the register", required=True,
                       hint="part of horse, owner or place; arrows and Enter choose"),
            MomentField(key="injured_at", label="Injured", now=self._now, default="now",
                        hint="4h, 14:30, yesterday, fri, 2026-03-02 14:30"),
            Field(key="mechanism", label="How", hint="wire, kick, nail ..."),
            LongText(key="history", label="History"),
            NumberField(key="weight_kg", label="Weight", unit="kg", least=20, most=1200,
                        default=f"{weight.kg:g}" if weight else "",
                        hint="used for the doses of this visit"),
            find_among("premises", "Place", self._places, "premises", also=("wounds",),
                       default=horse.premises if horse else ""),
            find_among("responsible", "Signs", people, "person", default=signs),
        ))  # fmt: skip

    def _patient(self, answers: Answers) -> Patient:
        horse = self._register.horses.get(answers.get("horse", ""))
        reading = Reading((self._case_pane(answers),), answers)
        return Patient(horse, reading.get("weight_kg"), self._drugs, self._now)

    def _build(self, answers: Answers) -> tuple[CaseOpened, Visit, tuple[Problem, ...], object]:
        r = Reading(self.panes(answers), answers)
        labels = _labels(answers)
        at = r.get("at", self._now)
        drugs = read_drugs(r, answers, self._patient(answers), at)
        opened = CaseOpened(
            horse=r.get("horse", ""),
            premises=r.get("premises", ""),
            injured_at=r.get("injured_at", self._now),
            injured_about=":" not in r.text("injured_at"),
            mechanism=r.get("mechanism", ""),
            history=r.get("history", ""),
            responsible=r.get("responsible", ""),
            wounds=tuple(read_wound(label, r) for label in labels),
        )
        cares = (read_care(label, r) for label in labels)
        visit = Visit(
            kind=VisitKind.FIRST,
            at=at,
            vitals=read_vitals(r),
            lameness=read_lameness(r),
            lame_limb=r.get("lame_limb") or "",
            findings=tuple(read_finding(label, r) for label in labels),
            care=tuple(care for care in cares if care is not None),
            given=drugs.given,
            dispensed=drugs.dispensed,
            instructions=r.get("instructions", ""),
            housing=r.get("housing", ""),
        )
        found = tuple(r.problems)
        if not found:
            checked = self._desk.check_opening(opened, visit)
            found = tuple(replace(p, field=drugs.place(p.field)) for p in checked)
        return opened, visit, found, drugs

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong, each under the path of its field."""
        return self._build(answers)[2]

    def save(self, answers: Answers) -> Saved:
        """Open the case with its first visit."""
        opened, visit, _, _ = self._build(answers)
        return self._desk.open_case(opened, visit)


def _labels(answers: Answers) -> str:
    """Give the letters of the wounds: the first, and one more for each asked for."""
    count = 1
    while count < len(LABELS) and answers.get(f"more.{LABELS[count - 1]}"):
        count += 1
    return LABELS[:count]
