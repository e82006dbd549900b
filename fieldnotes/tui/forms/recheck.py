"""A recheck: each open wound seen again, what was done, and which follow-ups it closes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.domain.entries import Visit, VisitKind
from fieldnotes.domain.followups import Doer, State
from fieldnotes.domain.wounds import Phase
from fieldnotes.planning.facts import devices_in
from fieldnotes.tui.fields.choices import ChoiceField, ManyField, lettered, of_words
from fieldnotes.tui.fields.field import LongText
from fieldnotes.tui.forms.bandage_pane import BandageTables
from fieldnotes.tui.forms.drug_panes import (
    Patient,
    ReadDrugs,
    at_hand,
    drug_panes,
    read_drugs,
    told,
)
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
    finding_pane,
    looked_at,
    read_care,
    read_finding,
    wound_pages,
)

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.errors import Problem
    from fieldnotes.domain.patients import Weight
    from fieldnotes.domain.wounds import Finding

KINDS = tuple(kind.value for kind in VisitKind if kind is not VisitKind.FIRST)


@dataclass(frozen=True)
class Built:
    """What the form's answers stand for."""

    visit: Visit
    drugs: ReadDrugs
    weight: Weight | None
    problems: tuple[Problem, ...]


class Recheck(Form):
    """A later visit to an open case."""

    name = "recheck"
    offers_handout = True

    def __init__(self, desk: Casework, ref: str) -> None:
        self._desk = desk
        self._now = desk.now()
        self._file = desk.file(ref)
        self._regions = desk.knowledge.regions
        self._at_hand = at_hand(desk, self._now)
        self._tables = BandageTables(desk.knowledge.bandages, desk.knowledge.dressings)
        self.case = self._file.case.ref
        self.title = f"Recheck: {self._file.horse.name}"
        self._labels = [w.label for w in self._file.case.wounds if not self._healed(w.label)]

    def _before(self, label: str) -> Finding | None:
        findings = self._file.case.findings(label)
        return findings[-1][1] if findings else None

    def _healed(self, label: str) -> bool:
        before = self._before(label)
        return before is not None and before.phase is Phase.HEALED

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the pages: due follow-ups, each wound and its care, drugs, the animal."""
        wounds: list[Pane] = []
        for label in self._labels:
            wound = self._file.case.wound(label)
            known = wound is not None and wound.region in self._regions
            region = self._regions.get(wound.region) if wound and known else None
            where = region.standard_name if region else ""
            before, limits = self._before(label), self._desk.knowledge.limits
            found = finding_pane(label, where, before, answers, limits)
            held = devices_in(self._file.case, label)
            wounds += wound_pages(
                found, label, region, answers, self._tables, before=before, held=held
            )
        return (
            self._due_pane(answers),
            *wounds,
            *drug_panes(answers, self._patient(answers)),
            visit_pane(self._now),
        )

    def _due_pane(self, answers: Answers) -> Pane:
        today = self._now.date()
        tasks = [
            t for t in self._file.plan if t.by is Doer.VET and t.state(today) is not State.COMING
        ]
        return Pane("due", "Due", (
            ManyField(key="tasks_done", label="Done today",
                      given=lettered((t.key, t.what) for t in tasks), hint="letters tick"),
            ChoiceField(key="kind", label="Kind", given=of_words(KINDS), default=VisitKind.RECHECK),
            LongText(key="history", label="Since last time"),
            *weight_fields(self._file.horse, answers),
        ))  # fmt: skip

    def _patient(self, answers: Answers) -> Patient:
        reading = Reading((self._due_pane(answers),), answers)
        return self._at_hand(self._file.horse, reading.get(WEIGHT))

    def _build(self, answers: Answers) -> Built:
        r = Reading(self.panes(answers), answers)
        at = r.get("at", self._now)
        drugs = read_drugs(r, answers, self._patient(answers), at)
        seen = tuple(label for label in self._labels if looked_at(label, answers))
        visit = self._visit(r, at, drugs, seen)
        found = r.faults()
        if not found:
            checked = self._desk.check(self.case, visit)
            found = tuple(replace(p, field=drugs.place(p.field)) for p in checked)
        return Built(visit, drugs, weighed(self._file.horse, r, self._now.date()), found)

    def _visit(self, r: Reading, at: dt.datetime, drugs: ReadDrugs, seen: tuple[str, ...]) -> Visit:
        cares = (read_care(label, r, self._tables) for label in self._labels)
        return Visit(
            kind=VisitKind(r.get("kind") or VisitKind.RECHECK),
            at=at,
            history=r.get("history", ""),
            vitals=read_vitals(r),
            lameness=read_lameness(r),
            lame_limb=r.get("lame_limb") or "",
            findings=tuple(read_finding(label, r) for label in seen),
            care=tuple(care for care in cares if care is not None),
            given=drugs.given,
            dispensed=drugs.dispensed,
            instructions=r.get("instructions", ""),
            housing=r.get("housing", ""),
            tasks_done=r.get("tasks_done") or (),
        )

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong, each under the path of its field."""
        return self._build(answers).problems

    def outlook(self, answers: Answers) -> Outlook:
        """Give the plan the case would have, and what to be careful of."""
        built = self._build(answers)
        cautions = told(self._desk.cautions(self.case, built.visit), built.drugs)
        if built.problems:
            return Outlook(cautions=cautions)
        plan = plan_lines(self._desk.preview_entry(self.case, built.visit))
        return Outlook("Plan once this is saved:", plan, cautions)

    def aside(self, answers: Answers) -> str:
        """Say that the weight is kept."""
        return weight_words(self._file.horse, self._build(answers).weight)

    def save(self, answers: Answers) -> Saved:
        """Keep the weight, then record the visit."""
        built = self._build(answers)
        keep_weight(self._desk, self._file.horse.id, built.weight)
        return self._desk.record(self.case, built.visit)
