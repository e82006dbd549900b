"""What an owner reports: signs in order of urgency, and how soon that must be seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.safety import judge_report, lower_than_judged
from fieldnotes.domain.entries import OwnerReport
from fieldnotes.domain.errors import Problem
from fieldnotes.domain.urgency import Urgency
from fieldnotes.tui.fields.choices import ChoiceField, ManyField, of_words
from fieldnotes.tui.fields.field import Field, LongText
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.fields.moments import MomentField
from fieldnotes.tui.forms.form import Answers, Form, Outlook, Pane, Reading
from fieldnotes.tui.forms.plan_words import plan_lines

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.clinical.triage import Triage
    from fieldnotes.knowledge.triage import Sign

ASKED = {
    Urgency.NOW: "Seen now",
    Urgency.SAME_DAY: "Seen today",
    Urgency.NEXT_VISIT: "Watched",
}
GAIT = {"normal": True, "not normal": False}


def asked_fields(signs: tuple[Sign, ...], now: dt.datetime) -> tuple[Field, ...]:
    """Give what is asked of an owner, the signs in order of urgency."""
    by_urgency = (
        ManyField(
            key=f"signs.{urgency.name.casefold()}", label=label, also=("signs",),
            given=of_words(s.id for s in signs if s.urgency is urgency),
        )
        for urgency, label in ASKED.items()
    )  # fmt: skip
    return (
        *by_urgency,
        ManyField(key="unclear", label="Not clear", given=of_words(s.id for s in signs),
                  hint="what the owner could not tell: it is asked again"),
        NumberField(key="temperature_c", label="Temperature", unit="C"),
        ChoiceField(key="gait", label="Walks", given=of_words(GAIT),
                    hint="empty: not known, and then nothing is taken as normal"),
        MomentField(key="last_nsaid_at", label="Last painkiller", now=now,
                    empty_is_none=True, hint="by anyone; it may hide fever and lameness"),
    )  # fmt: skip


def report_of(r: Reading, now: dt.datetime) -> OwnerReport:
    """Give the report that was told."""
    signs = (r.get(f"signs.{u.name.casefold()}") or () for u in ASKED)
    return OwnerReport(
        at=r.get("at", now),
        source=r.get("source", ""),
        text=r.get("text", ""),
        signs=tuple(sign for some in signs for sign in some),
        temperature_c=r.get("temperature_c"),
        last_nsaid_at=r.get("last_nsaid_at"),
        urgency=Urgency(r.get("urgency") or Urgency.NEXT_VISIT),
        decision=r.get("decision", ""),
        unclear=r.get("unclear") or (),
        gait_normal=GAIT.get(r.get("gait") or ""),
    )


class Report(Form):
    """An owner's report about an open case."""

    name = "report"

    def __init__(self, desk: Casework, ref: str) -> None:
        self._desk = desk
        self._now = desk.now()
        self._file = desk.file(ref)
        self._signs = desk.knowledge.triage.signs
        self.case = self._file.case.ref
        self.title = f"Owner's report: {self._file.horse.name}"

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the page; the urgency is suggested by what has been answered."""
        asked = self._asked()
        found = self._judged(Reading((asked,), answers))
        why = "; ".join(r.why for r in found.reasons) or "no sign named"
        urgency = ChoiceField(
            key="urgency", label="To be seen", given=of_words(u.value for u in Urgency),
            default=found.urgency, hint="\n".join((why, *found.notes)),
        )  # fmt: skip
        decision = LongText(
            key="decision", label="Decision", hint="; ".join(found.advice) or "what was agreed"
        )
        return (Pane(asked.id, asked.title, (*asked.fields, urgency, decision)),)

    def _asked(self) -> Pane:
        return Pane("report", "Owner's report", (
            MomentField(key="at", label="When", now=self._now, default="now"),
            Field(key="source", label="By", default="phone", required=True),
            LongText(key="text", label="What was said"),
            *asked_fields(self._signs, self._now),
        ))  # fmt: skip

    def _judged(self, r: Reading) -> Triage:
        report, library = report_of(r, self._now), self._desk.knowledge
        return judge_report(self._file.case, self._file.horse, report, library)

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong."""
        r = Reading(self.panes(answers), answers)
        report = report_of(r, self._now)
        return r.faults() or self._desk.check(self.case, report)

    def outlook(self, answers: Answers) -> Outlook:
        """Give how soon it must be seen, and why."""
        report = report_of(Reading(self.panes(answers), answers), self._now)
        found = judge_report(self._file.case, self._file.horse, report, self._desk.knowledge)
        reasons = tuple(f"{r.urgency.value}: {r.why} ({r.source})" for r in found.reasons)
        plan = plan_lines(self._desk.preview_entry(self.case, report))
        lines = (*reasons, *found.advice, *found.notes, "", "Plan once this is saved:", *plan)
        lower = lower_than_judged(found, report.urgency)
        cautions = (Problem("urgency", lower),) if lower else ()
        return Outlook("How soon it must be seen:", lines, cautions)

    def save(self, answers: Answers) -> Saved:
        """Add the report."""
        report = report_of(Reading(self.panes(answers), answers), self._now)
        return self._desk.record(self.case, report)
