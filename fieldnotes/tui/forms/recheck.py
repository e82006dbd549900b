"""A recheck: each open wound seen again, what was done, and which follow-ups it closes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.entries import Visit, VisitKind
from fieldnotes.domain.errors import Problem
from fieldnotes.domain.followups import Doer, State
from fieldnotes.planning.facts import devices_in
from fieldnotes.tui.fields.choices import ChoiceField, ManyField, lettered, of_words
from fieldnotes.tui.fields.field import LongText
from fieldnotes.tui.forms.filling import Offer
from fieldnotes.tui.forms.form import Answers, Pane, Reading
from fieldnotes.tui.forms.forward import carried
from fieldnotes.tui.forms.visiting import Built, VisitForm
from fieldnotes.tui.forms.weighing import keep_horse, weight_fields
from fieldnotes.tui.forms.wound_panes import (
    finding_pane,
    looked_at,
    read_finding,
    read_shots,
    with_photographs,
    wound_pages,
)

if TYPE_CHECKING:
    from fieldnotes.casework.caution import Caution
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.patients import Horse
    from fieldnotes.domain.wounds import Finding

KINDS = tuple(kind.value for kind in VisitKind if kind is not VisitKind.FIRST)


class Recheck(VisitForm):
    """A later visit to an open case."""

    name = "recheck"

    def __init__(self, desk: Casework, ref: str) -> None:
        super().__init__(desk)
        self._file = desk.file(ref)
        self.case = self._file.case.ref
        self.title = f"Recheck: {self._file.horse.name}"
        labels = (w.label for w in self._file.case.wounds)
        self._labels = "".join(label for label in labels if not self._healed(label))

    def _before(self, label: str) -> Finding | None:
        findings = self._file.case.findings(label)
        return findings[-1][1] if findings else None

    def _healed(self, label: str) -> bool:
        before = self._before(label)
        return before is not None and before.healed

    def hydration(self) -> str:
        """Give how the horse was last found to be hydrated in this case."""
        said = [v.body.vitals.hydration for v in self._file.case.visits if v.body.vitals.hydration]
        return said[-1] if said else ""

    def wound_panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the pages of the wounds not healed."""
        wounds: list[Pane] = []
        for label in self._labels:
            wound = self._file.case.wound(label)
            known = wound is not None and wound.region in self._regions
            region = self._regions.get(wound.region) if wound and known else None
            where = region.standard_name if region else ""
            before = self._before(label)
            pane = finding_pane(label, where, before, answers, self._desk.knowledge)
            found = with_photographs(pane, label, self._unreadable)
            held = devices_in(self._file.case, label)
            wounds += wound_pages(
                found, label, region, answers, self._tables, before=before, held=held
            )
        return tuple(wounds)

    def first_pane(self, answers: Answers) -> Pane:
        """Give the page of what is due."""
        today = self._now.date()
        tasks = [
            t for t in self._file.plan if t.by is Doer.VET and t.state(today) is not State.COMING
        ]
        return Pane("due", "Due", (
            ManyField(key="tasks_done", label="Done today",
                      given=lettered((t.key, t.what) for t in tasks), hint="letters tick"),
            ChoiceField(key="kind", label="Kind", given=of_words(KINDS), default=VisitKind.RECHECK),
            LongText(key="history", label="Since last time"),
            *weight_fields(self._file.horse, answers, self.units),
        ))  # fmt: skip

    def carried(self) -> Offer | None:
        """Give what was done last time for the wounds still open."""
        answers, left, day = carried(self, self._file.case, self._labels)
        if not answers:
            return None
        return Offer("", f"as on {day}", tuple(answers.items()), f"as on {day}", left)

    def horse_of(self, answers: Answers) -> Horse | None:
        """Give the case's horse."""
        _ = answers
        return self._file.horse

    def visit_of(self, r: Reading, answers: Answers) -> Visit:
        """Give the visit with the wounds that were looked at."""
        seen = (label for label in self._labels if looked_at(label, answers))
        visit = Visit(
            kind=VisitKind(r.get("kind") or VisitKind.RECHECK),
            at=r.get("at", self._now),
            history=r.get("history", ""),
            findings=tuple(read_finding(label, r) for label in seen),
            tasks_done=r.get("tasks_done") or (),
        )
        return self.with_care(visit, r, self._labels)

    def about(self, r: Reading) -> Case:
        """Give the case."""
        _ = r
        return self._file.case

    def check(self, built: Built) -> tuple[Problem, ...]:
        """Give what the desk says of the visit."""
        shots = read_shots(self._labels, built.r)
        faults = ((s, self._desk.album.fault(self.case, s.file)) for s in shots)
        known = (Problem(f"photos.{s.wound}", f"{s.file}: {why}") for s, why in faults if why)
        return (*self._desk.supposing(built.horse).check(self.case, built.visit), *known)

    def cautions(self, built: Built) -> tuple[Caution, ...]:
        """Give what to be careful of."""
        return self._desk.supposing(built.horse).cautions(self.case, built.visit)

    def preview(self, built: Built) -> tuple[FollowUp, ...]:
        """Give the plan the case would have."""
        return self._desk.supposing(built.horse).preview_entry(self.case, built.visit)

    def save(self, answers: Answers) -> Saved:
        """Keep the horse and a consent, then record the visit."""
        built = self.build(answers)
        keep_horse(self._desk, built.horse)
        if built.consent is not None:
            self._desk.record(self.case, built.consent)
        return self._desk.record(self.case, built.visit, read_shots(self._labels, built.r))
