"""What the forms of a first visit and of a recheck share: drugs, the animal, checks, the save."""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.casework.treatments import placed_drugs, recorded
from fieldnotes.domain.entries import CaseOpened
from fieldnotes.tui.forms.animal_pages import animal_pages, as_left, exclusion
from fieldnotes.tui.forms.bandage_pane import BandageTables
from fieldnotes.tui.forms.drug_panes import (
    Patient,
    ReadDrugs,
    at_hand,
    drug_panes,
    free_slot,
    read_drugs,
    told,
)
from fieldnotes.tui.forms.fillable import FillableForm
from fieldnotes.tui.forms.form import Answers, Outlook, Pane, Reading
from fieldnotes.tui.forms.plan_words import plan_lines, tetanus_line
from fieldnotes.tui.forms.reckon_page import Bench, page_for
from fieldnotes.tui.forms.visit_pane import read_animal, visit_pane
from fieldnotes.tui.forms.weighing import WEIGHT, as_weighed, weighed, weight_cautions, weight_words
from fieldnotes.tui.forms.wound_panes import read_care

if TYPE_CHECKING:
    from fieldnotes.casework.caution import Caution
    from fieldnotes.casework.desk import Casework
    from fieldnotes.domain.agreements import Consent
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.entries import Visit
    from fieldnotes.domain.errors import Problem
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.patients import Horse, Weight


@dataclass(frozen=True)
class Built:
    """What the form's answers stand for; `horse` is the animal as the save leaves it."""

    r: Reading
    visit: Visit
    drugs: ReadDrugs
    horse: Horse | None
    weight: Weight | None
    consent: Consent | None


class VisitForm(FillableForm):
    """A visit: pages of wounds by the subclass, then drugs and the animal as a whole."""

    offers_handout = True

    def __init__(self, desk: Casework) -> None:
        self._desk = desk
        self._now = desk.now()
        self.units = desk.practice().units
        self._unreadable = desk.album.unreadable  # one of them: each picture is decoded once
        self._regions = desk.knowledge.regions
        self._at_hand = at_hand(desk, self._now)
        known = desk.knowledge
        said = (known.settled(name).words for name in ("lavage", "hand-syringe"))
        self._tables = BandageTables(known.bandages, known.dressings, "; ".join(said))

    @abstractmethod
    def first_pane(self, answers: Answers) -> Pane:
        """Give the first page; the weight stands on it."""

    @abstractmethod
    def wound_panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the pages of the wounds."""

    @abstractmethod
    def horse_of(self, answers: Answers) -> Horse | None:
        """Give the horse as it is known now."""

    @abstractmethod
    def visit_of(self, r: Reading, answers: Answers) -> Visit:
        """Give the visit with its wounds; drugs and animal are put in here."""

    @abstractmethod
    def about(self, r: Reading) -> CaseOpened | Case:
        """Give the case, or what opens it."""

    @abstractmethod
    def check(self, built: Built) -> tuple[Problem, ...]:
        """Give what the desk says of the whole."""

    @abstractmethod
    def cautions(self, built: Built) -> tuple[Caution, ...]:
        """Give what to be careful of."""

    @abstractmethod
    def preview(self, built: Built) -> tuple[FollowUp, ...]:
        """Give the plan the case would have."""

    def hydration(self) -> str:
        """Give how the horse was last found to be hydrated in this case; empty if never said."""
        return ""

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the pages: first, each wound and its care, drugs, the animal."""
        library, horse = self._desk.knowledge, self.horse_of(answers)
        return (
            self.first_pane(answers),
            *self.wound_panes(answers),
            *drug_panes(answers, self.patient(answers)),
            *animal_pages(horse, answers, library, self._now.date()),
            visit_pane(self._now, library, self.hydration()),
        )

    def patient(self, answers: Answers) -> Patient:
        """Give for whom doses are reckoned."""
        weight = Reading((self.first_pane(answers),), answers).get(WEIGHT)
        return self._at_hand(self.horse_of(answers), weight)

    def bench(self, answers: Answers, pane: str) -> Bench:
        """Give what the calculators start from, as the visit stands."""
        kind, _, which = pane.partition("-")
        slot = int(which) if kind == "drug" else free_slot(answers)
        built, library = self.build(answers), self._desk.knowledge
        about = self.about(built.r)
        bed = self._desk.bedside(about)
        opened = about if isinstance(about, CaseOpened) else about.opened
        here = placed_drugs(built.visit, library)
        return Bench(
            library,
            self.patient(answers),
            self._desk.practice().tetanus_rule_months,
            dict(answers),
            page_for(pane),
            which if kind in {"wound", "care", "bandage"} else "",
            slot,
            tuple(w for w in about.wounds if built.r.has(f"care.{w.label}.lavage")),
            opened.injured_at.date(),
            None if isinstance(about, CaseOpened) else about,
            (*(recorded(bed) if bed else ()), *(p.treatment for p in here)),
            next(
                (p.treatment for p in here if (p.path, f"drug.{slot}") in built.drugs.places), None
            ),
        )

    def build(self, answers: Answers) -> Built:
        """Give what the answers stand for."""
        r = Reading(self.panes(answers), answers)
        drugs = read_drugs(r, answers, self.patient(answers), r.get("at", self._now))
        visit = read_animal(self.visit_of(r, answers), r)
        visit = replace(visit, given=drugs.given, dispensed=drugs.dispensed)
        today, horse = self._now.date(), self.horse_of(answers)
        weight = weighed(horse, r, today)
        left = as_left(as_weighed(horse, weight), r)
        return Built(r, visit, drugs, left, weight, exclusion(r, visit.at.date()))

    def with_care(self, visit: Visit, r: Reading, labels: str) -> Visit:
        """Give a visit with what was done for each wound."""
        cares = (read_care(label, r, self._tables) for label in labels)
        return replace(visit, care=tuple(care for care in cares if care is not None))

    def _problems(self, built: Built) -> tuple[Problem, ...]:
        found = built.r.faults()
        if found:
            return found
        return tuple(replace(p, field=built.drugs.place(p.field)) for p in self.check(built))

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong, each under the path of its field."""
        return self._problems(self.build(answers))

    def outlook(self, answers: Answers) -> Outlook:
        """Give the plan the case would have, and what to be careful of."""
        built = self.build(answers)
        new = weight_cautions(self.horse_of(answers), built.weight, self.units)
        cautions = told((*new, *self.cautions(built)), built.drugs)
        if self._problems(built):
            return Outlook(cautions=cautions)
        plan, horse = self.preview(built), built.horse or self.horse_of(answers)
        tetanus = (tetanus_line(horse, plan),) if horse is not None else ()
        return Outlook("Plan once this is saved:", (*plan_lines(plan), *tetanus), cautions)

    def aside(self, answers: Answers) -> str:
        """Say that the weight is kept."""
        return weight_words(self.horse_of(answers), self.build(answers).weight, self.units)
