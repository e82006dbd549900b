"""The first visit: opens a case of a known horse, wound by wound, with what was done and given."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.drawings import earlier_cases, earlier_marks, mark_on
from fieldnotes.casework.dying import deaths
from fieldnotes.domain.entries import CaseOpened, Visit, VisitKind
from fieldnotes.tui.fields.field import Field, LongText
from fieldnotes.tui.fields.moments import InjuredField, read_moment
from fieldnotes.tui.fields.place import read_spot
from fieldnotes.tui.forms.finding import find_among, find_horse, horse_options, named
from fieldnotes.tui.forms.form import Answers, Pane, Reading
from fieldnotes.tui.forms.visiting import Built, VisitForm
from fieldnotes.tui.forms.weighing import keep_horse, weight_fields
from fieldnotes.tui.forms.wound_panes import (
    read_finding,
    read_shots,
    read_wound,
    with_photographs,
    wound_pages,
    wound_pane,
)

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.casework.caution import Caution
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.errors import Problem
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.patients import Horse
    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.knowledge.regions import Region
    from fieldnotes.rendering.bodymap.wounds import WoundMark

LABELS = "ABCDEFGH"


class FirstVisit(VisitForm):
    """A new case."""

    name = "first_visit"
    title = "New case: first visit"

    def __init__(self, desk: Casework, _ref: str = "") -> None:
        super().__init__(desk)
        self._register = desk.register()
        dead = deaths(c.line for c in desk.find_cases(status="died")).items()
        self._died = {k: _died(x.ended_on, self._now.date()) for k, x in dead if x.ended_on}
        self._horses = horse_options(self._register, self._now.date(), self._died)
        self._places = named(self._register.premises)
        self._earlier: dict[str, tuple[Case, ...]] = {}
        self._open = {c.line.horse: c.ref for c in desk.find_cases(status="open")}

    def instead(self, answers: Answers) -> tuple[str, str] | None:
        """Give the form to write instead: a recheck of the open case the horse has."""
        ref = self._open.get(answers.get("horse", ""))
        return ("recheck", ref) if ref else None

    def wound_panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the pages of the wounds."""
        wounds: list[Pane] = []
        injured = read_moment(answers.get("injured_at", ""), self._now) or self._now
        granulates = self._desk.knowledge.healing.granulation_from_day
        old = (self._now.date() - injured.date()).days >= granulates
        for label in _labels(answers):
            region = self._region(answers.get(f"wounds.{label}.region", ""))
            pane = wound_pane(label, self._desk.knowledge, old=old)
            found = with_photographs(pane, label, self._unreadable)
            wounds += wound_pages(found, label, region, answers, self._tables)
        return tuple(wounds)

    def _region(self, answer: str) -> Region | None:
        found = read_spot(answer).region
        return self._regions.get(found) if found in self._regions else None

    def others_on(self, view: View, answers: Answers, key: str) -> tuple[WoundMark, ...]:
        """Give the wounds of the other pages, and those of the horse's earlier cases."""
        horse = answers.get("horse", "")
        if horse not in self._earlier:
            self._earlier = {horse: earlier_cases(self._desk, horse)}
        r = Reading(self.wound_panes(answers), answers)
        others = (x for x in _labels(answers) if key != f"wounds.{x}.region")
        wounds = [w for w in (read_wound(x, r) for x in others) if w.region in self._regions]
        marks = (mark_on(view, w, read_finding(w.label, r)) for w in wounds)
        return (*earlier_marks(view, self._earlier[horse]), *(m for m in marks if m))

    def first_pane(self, answers: Answers) -> Pane:
        """Give the page of the case."""
        horse = self.horse_of(answers)
        people = named(self._register.people)
        signs = people[0].id if people else ""
        return Pane("case", "Case", (
            find_horse("horse", "Horse", self._horses, self._open, self._died),
            InjuredField(key="injured_at", label="Injured", now=self._now, default="now",
                         ages=self._desk.knowledge.wound_ages,
                         hint="4h, 14:30, yesterday, fri, 2026-03-02 14:30"),
            Field(key="mechanism", label="How", hint="wire, kick, nail ..."),
            LongText(key="history", label="History"),
            *weight_fields(horse, answers, self.units),
            find_among("premises", "Place", self._places, "premises", also=("wounds",),
                       default=horse.premises if horse else ""),
            find_among("responsible", "Signs", people, "person", default=signs),
        ))  # fmt: skip

    def horse_of(self, answers: Answers) -> Horse | None:
        """Give the horse chosen."""
        return self._register.horses.get(answers.get("horse", ""))

    def about(self, r: Reading) -> CaseOpened:
        """Give what opens the case."""
        return CaseOpened(
            horse=r.get("horse", ""),
            premises=r.get("premises", ""),
            injured_at=r.get("injured_at", self._now),
            injured_about=":" not in r.text("injured_at"),
            mechanism=r.get("mechanism", ""),
            history=r.get("history", ""),
            responsible=r.get("responsible", ""),
            wounds=tuple(read_wound(label, r) for label in _labels(r.answers)),
        )

    def visit_of(self, r: Reading, answers: Answers) -> Visit:
        """Give the visit with its wounds."""
        labels = _labels(answers)
        findings = tuple(read_finding(label, r) for label in labels)
        visit = Visit(VisitKind.FIRST, r.get("at", self._now), findings=findings)
        return self.with_care(visit, r, labels)

    def check(self, built: Built) -> tuple[Problem, ...]:
        """Give what the desk says of the opening and the visit."""
        desk = self._desk.supposing(built.horse)
        return desk.check_opening(self.about(built.r), built.visit)

    def cautions(self, built: Built) -> tuple[Caution, ...]:
        """Give what to be careful of."""
        return self._desk.supposing(built.horse).cautions(self.about(built.r), built.visit)

    def preview(self, built: Built) -> tuple[FollowUp, ...]:
        """Give the plan the case would have."""
        return self._desk.supposing(built.horse).preview(self.about(built.r), built.visit)

    def save(self, answers: Answers) -> Saved:
        """Keep the horse, then open the case: a failure before the case leaves none half-saved."""
        built = self.build(answers)
        keep_horse(self._desk, built.horse)
        shots = read_shots(_labels(answers), built.r)
        return self._desk.open_case(self.about(built.r), built.visit, built.consent, shots)


def _died(on: dt.date, today: dt.date) -> str:
    return f"died {on.day} {on:%b}" + ("" if on.year == today.year else f" {on.year}")


def _labels(answers: Answers) -> str:
    """Give the letters of the wounds: the first, and one more for each asked for."""
    count = 1
    while count < len(LABELS) and answers.get(f"more.{LABELS[count - 1]}"):
        count += 1
    return LABELS[:count]
