"""The first visit: opens a case of a known horse, wound by wound, with what was done and given."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.domain.entries import CaseOpened, Visit, VisitKind
from fieldnotes.tui.fields.field import Field, LongText
from fieldnotes.tui.fields.moments import MomentField
from fieldnotes.tui.fields.place import read_spot
from fieldnotes.tui.forms.bandage_pane import BandageTables
from fieldnotes.tui.forms.drug_panes import (
    Patient,
    ReadDrugs,
    at_hand,
    drug_panes,
    read_drugs,
    told,
)
from fieldnotes.tui.forms.finding import find_among, horse_options, named
from fieldnotes.tui.forms.form import Answers, Form, Outlook, Pane, Reading
from fieldnotes.tui.forms.plan_words import plan_lines
from fieldnotes.tui.forms.visit_pane import read_lameness, read_vitals, visit_pane
from fieldnotes.tui.forms.weighing import (
    WEIGHT,
    keep_weight,
    weighed,
    weight_fields,
    weight_words,
)
from fieldnotes.tui.forms.wound_panes import (
    read_care,
    read_finding,
    read_wound,
    wound_pages,
    wound_pane,
)

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.errors import Problem
    from fieldnotes.domain.patients import Horse, Weight
    from fieldnotes.knowledge.regions import Region

LABELS = "ABCDEFGH"


@dataclass(frozen=True)
class Built:
    """What the form's answers stand for."""

    opened: CaseOpened
    visit: Visit
    drugs: ReadDrugs
    weight: Weight | None
    problems: tuple[Problem, ...]


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
        self._at_hand = at_hand(desk, self._now)
        self._horses = horse_options(self._register, self._now.date())
        self._places = named(self._register.premises)
        self._tables = BandageTables(desk.knowledge.bandages, desk.knowledge.dressings)

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the pages: case, each wound and its care, drugs, the animal as a whole."""
        wounds: list[Pane] = []
        for label in _labels(answers):
            region = self._region(answers.get(f"wounds.{label}.region", ""))
            found = wound_pane(label, self._regions, self._desk.knowledge.limits)
            wounds += wound_pages(found, label, region, answers, self._tables)
        drugs = drug_panes(answers, self._patient(answers))
        return (self._case_pane(answers), *wounds, *drugs, visit_pane(self._now))

    def _region(self, answer: str) -> Region | None:
        found = read_spot(answer).region
        return self._regions.get(found) if found in self._regions else None

    def _case_pane(self, answers: Answers) -> Pane:
        horse = self._register.horses.get(answers.get("horse", ""))
        people = named(self._register.people)
        signs = people[0].id if people else ""
        return Pane("case", "Case", (
            find_among("horse", "Horse", self._horses, "horse of the register", required=True,
                       hint="part of horse, owner or place; arrows and Enter choose"),
            MomentField(key="injured_at", label="Injured", now=self._now, default="now",
                        hint="4h, 14:30, yesterday, fri, 2026-03-02 14:30"),
            Field(key="mechanism", label="How", hint="wire, kick, nail ..."),
            LongText(key="history", label="History"),
            *weight_fields(horse, answers),
            find_among("premises", "Place", self._places, "premises", also=("wounds",),
                       default=horse.premises if horse else ""),
            find_among("responsible", "Signs", people, "person", default=signs),
        ))  # fmt: skip

    def _horse(self, answers: Answers) -> Horse | None:
        return self._register.horses.get(answers.get("horse", ""))

    def _patient(self, answers: Answers) -> Patient:
        reading = Reading((self._case_pane(answers),), answers)
        return self._at_hand(self._horse(answers), reading.get(WEIGHT))

    def _build(self, answers: Answers) -> Built:
        r = Reading(self.panes(answers), answers)
        drugs = read_drugs(r, answers, self._patient(answers), r.get("at", self._now))
        opened = self._opened(r, _labels(answers))
        visit = self._visit(r, _labels(answers), drugs)
        found = r.faults()
        if not found:
            checked = self._desk.check_opening(opened, visit)
            found = tuple(replace(p, field=drugs.place(p.field)) for p in checked)
        weight = weighed(self._horse(answers), r, self._now.date())
        return Built(opened, visit, drugs, weight, found)

    def _opened(self, r: Reading, labels: str) -> CaseOpened:
        return CaseOpened(
            horse=r.get("horse", ""),
            premises=r.get("premises", ""),
            injured_at=r.get("injured_at", self._now),
            injured_about=":" not in r.text("injured_at"),
            mechanism=r.get("mechanism", ""),
            history=r.get("history", ""),
            responsible=r.get("responsible", ""),
            wounds=tuple(read_wound(label, r) for label in labels),
        )

    def _visit(self, r: Reading, labels: str, drugs: ReadDrugs) -> Visit:
        cares = (read_care(label, r, self._tables) for label in labels)
        return Visit(
            kind=VisitKind.FIRST,
            at=r.get("at", self._now),
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

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong, each under the path of its field."""
        return self._build(answers).problems

    def outlook(self, answers: Answers) -> Outlook:
        """Give the plan the case would have, and what to be careful of."""
        built = self._build(answers)
        cautions = told(self._desk.cautions(built.opened, built.visit), built.drugs)
        if built.problems:
            return Outlook(cautions=cautions)
        plan = plan_lines(self._desk.preview(built.opened, built.visit))
        return Outlook("Plan once this is saved:", plan, cautions)

    def aside(self, answers: Answers) -> str:
        """Say that the weight is kept."""
        return weight_words(self._horse(answers), self._build(answers).weight)

    def save(self, answers: Answers) -> Saved:
        """Keep the weight, then open the case: a failure before the case leaves none half-saved."""
        built = self._build(answers)
        keep_weight(self._desk, built.opened.horse, built.weight)
        return self._desk.open_case(built.opened, built.visit)


def _labels(answers: Answers) -> str:
    """Give the letters of the wounds: the first, and one more for each asked for."""
    count = 1
    while count < len(LABELS) and answers.get(f"more.{LABELS[count - 1]}"):
        count += 1
    return LABELS[:count]
