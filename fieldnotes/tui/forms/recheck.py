"""A recheck: each open wound seen again, what was done, and which follow-ups it closes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.domain.entries import Visit, VisitKind
from fieldnotes.domain.followups import Doer, State
from fieldnotes.domain.wounds import Phase
from fieldnotes.tui.fields.choices import ChoiceField, ManyField, lettered, of_words
from fieldnotes.tui.fields.field import LongText
from fieldnotes.tui.forms.drug_panes import Patient, drug_panes, read_drugs
from fieldnotes.tui.forms.form import Answers, Form, Pane, Reading
from fieldnotes.tui.forms.visit_pane import read_lameness, read_vitals, visit_pane
from fieldnotes.tui.forms.wound_panes import care_pane, finding_pane, read_care, read_finding

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.errors import Problem

KINDS = tuple(kind.value for kind in VisitKind if kind is not VisitKind.FIRST)


class Recheck(Form):
    """A later visit to an open case."""

    name = "recheck"
    offers_handout = True

    def __init__(self, desk: Casework, ref: str) -> None:
        self._desk = desk
        self._now = desk.now()
        self._file = desk.file(ref)
        self._regions = desk.knowledge.regions
        self._drugs = desk.knowledge.drugs
        self.case = self._file.case.ref
        self.title = f"Recheck: {self._file.horse.name}"
        self._labels = [w.label for w in self._file.case.wounds if not self._healed(w.label)]

    def _healed(self, label: str) -> bool:
        findings = self._file.case.findings(label)
        return bool(findings) and findings[-1][1].phase is Phase.HEALED

    def _phase(self, label: str) -> str:
        findings = self._file.case.findings(label)
        return findings[-1][1].phase.value if findings else Phase.INFLAMMATORY.value

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the pages: due follow-ups, each wound and its care, drugs, the animal."""
        wounds: list[Pane] = []
        for label in self._labels:
            wound = self._file.case.wound(label)
            region = wound.region if wound else ""
            name = self._regions.get(region).standard_name if region in self._regions else region
            wounds.append(finding_pane(label, name, self._phase(label)))
            wounds.append(care_pane(label, region, self._regions, first=False))
        return (
            self._due_pane(),
            *wounds,
            *drug_panes(answers, self._patient()),
            visit_pane(self._now),
        )

    def _due_pane(self) -> Pane:
        today = self._now.date()
        tasks = [
            t for t in self._file.plan if t.by is Doer.VET and t.state(today) is not State.COMING
        ]
        return Pane("due", "Due", (
            ManyField(key="tasks_done", label="Done today",
                      given=lettered((t.key, t.what) for t in tasks), hint="letters tick"),
            ChoiceField(key="kind", label="Kind", given=of_words(KINDS), default=VisitKind.RECHECK),
            LongText(key="history", label="Since last time"),
        ))  # fmt: skip

    def _patient(self) -> Patient:
        weight = self._file.horse.weight()
        return Patient(self._file.horse, weight.kg if weight else None, self._drugs, self._now)

    def _build(self, answers: Answers) -> tuple[Visit, tuple[Problem, ...]]:
        r = Reading(self.panes(answers), answers)
        at = r.get("at", self._now)
        drugs = read_drugs(r, answers, self._patient(), at)
        cares = (read_care(label, r) for label in self._labels)
        visit = Visit(
            kind=VisitKind(r.get("kind") or VisitKind.RECHECK),
            at=at,
            history=r.get("history", ""),
            vitals=read_vitals(r),
            lameness=read_lameness(r),
            lame_limb=r.get("lame_limb") or "",
            findings=tuple(read_finding(label, r) for label in self._labels),
            care=tuple(care for care in cares if care is not None),
            given=drugs.given,
            dispensed=drugs.dispensed,
            instructions=r.get("instructions", ""),
            housing=r.get("housing", ""),
            tasks_done=r.get("tasks_done") or (),
        )
        found = tuple(r.problems)
        if not found:
            checked = self._desk.check(self.case, visit)
            found = tuple(replace(p, field=drugs.place(p.field)) for p in checked)
        return visit, found

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong, each under the path of its field."""
        return self._build(answers)[1]

    def save(self, answers: Answers) -> Saved:
        """Record the visit."""
        return self._desk.record(self.case, self._build(answers)[0])
