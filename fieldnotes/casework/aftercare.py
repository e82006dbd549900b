"""What the plan of a case did after an entry, and what the vet says to its flags."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.domain.agreements import Consent, Estimate
from fieldnotes.domain.cases import fold
from fieldnotes.domain.entries import (
    FlagAnswered,
    FollowUpOutcome,
    Note,
    Outcome,
    TaskAdded,
)
from fieldnotes.domain.errors import Problem, UnknownNameError
from fieldnotes.domain.followups import task_named
from fieldnotes.domain.paperwork import HandoutQueued, HandoutWording
from fieldnotes.planning.followups import plan, withdrawn
from fieldnotes.planning.replanning import changes, gone_because

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved, WoundFile
    from fieldnotes.clinical.flags import Flag
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.entries import Body, Entry
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.knowledge.rules import Rules

PLAN_STAYS = (Note, HandoutQueued, HandoutWording, Consent, Estimate, FlagAnswered)
ANSWERS = ("accepted", "wait", "not applicable")


class Aftercare:
    """The plan and the flags of one case after another, over the desk."""

    def __init__(self, desk: Casework) -> None:
        self._desk = desk

    def changes(self, ref: str) -> tuple[str, ...]:
        """Say what the newest entry that can change a plan changed, and why."""
        case = self._desk.case(ref)
        counted = [e for e in case.entries if not isinstance(e.body, PLAN_STAYS)]
        earlier = [e for e in case.entries if e.order < counted[-1].order]
        before = self._plan(case.ref, earlier) if len(counted) > 1 else ()
        practice, rules = self._desk.practice(), self._desk.knowledge.rules
        after = self._plan(case.ref, case.entries)
        return changes(before, after, gone_because(case, rules, practice.zone))

    def withdrawn(self, ref: str) -> tuple[FollowUp, ...]:
        """Give the tasks that a hold, a referral or the end of the case has stopped."""
        case = self._desk.case(ref)
        return self._by(withdrawn, case)

    def _plan(self, ref: str, entries: Iterable[Entry]) -> tuple[FollowUp, ...]:
        return self._by(plan, fold(ref, entries))

    def _by(self, reckon: Callable[..., tuple[FollowUp, ...]], case: Case) -> tuple[FollowUp, ...]:
        desk, known = self._desk, self._desk.knowledge
        horse = desk.horse(case.opened.horse)
        return reckon(case, horse, known.regions, known.rules, desk.practice(), desk.today())

    def problems(self, body: Body) -> Iterator[Problem]:
        """Check an answer to a flag, or what became of a follow-up."""
        match body:
            case FlagAnswered():
                yield from answer_problems(body)
            case FollowUpOutcome():
                yield from result_problems(body, self._desk.knowledge.rules)
            case _:
                pass

    def answer(self, ref: str, flag: str, wound: str, answer: str, reason: str) -> Saved:
        """Answer a raised flag of a wound with a reason; it returns when the numbers get worse."""
        found = raised_flag(self._desk.file(ref).wounds, flag, wound)
        body = FlagAnswered(flag, wound, answer, reason, found.level, found.rule)
        return self._desk.record(ref, body)

    def settle(self, ref: str, said: FollowUpOutcome) -> Saved:
        """Say what became of a task, by its key or a unique beginning.

        A result entered before stands, so that the owner can be told of it later.
        """
        file = self._desk.file(ref)
        key = task_named(file.plan, said.key).key
        before = (o.body.result for o in file.case.outcomes if o.body.key == key)
        known = [result for result in before if result]
        result = said.result or (known[-1] if known else "")
        return self._desk.record(ref, replace(said, key=key, result=result))

    def add(self, ref: str, task: TaskAdded) -> Saved:
        """Set a task by hand; UnknownNameError for a wound the case has not."""
        labels = tuple(w.label for w in self._desk.case(ref).wounds)
        for wound in task.wounds:
            if wound not in labels:
                known = ", ".join(labels) or "the case has none"
                raise UnknownNameError("wound", f"no wound '{wound}': {known}", labels)
        return self._desk.record(ref, task)


def raised_flag(wounds: Iterable[WoundFile], flag: str, wound: str) -> Flag:
    """Give a flag that is raised on a wound, answered or not; UnknownNameError if it is not."""
    raised = {
        (w.wound.label, f.flag): f for w in wounds for f in (*w.flags, *(f for f, _ in w.answered))
    }
    if (wound, flag) not in raised:
        names = tuple(f"{name} on wound {label}" for label, name in raised)
        known = f"raised: {', '.join(names)}" if names else "none is raised"
        raise UnknownNameError("flag", f"no flag '{flag}' on wound '{wound}'; {known}", names)
    return raised[wound, flag]


def answer_problems(body: FlagAnswered) -> Iterator[Problem]:
    """Check an answer to a flag."""
    if body.answer not in ANSWERS:
        yield Problem("answer", f"one of: {', '.join(ANSWERS)}")
    if not body.reason.strip():
        yield Problem("reason", "an answer to a flag says why")


def result_problems(body: FollowUpOutcome, rules: Rules) -> Iterator[Problem]:
    """Check that a sample or radiograph the owner was told of has its result entered."""
    rule = rules.get(body.key.partition(":")[0])
    if rule is None or not rule.told or body.outcome is not Outcome.DONE:
        return
    if body.told_owner and not body.result.strip():
        yield Problem("result", "what did it show? the owner was told")
