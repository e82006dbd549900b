"""Forms of one page about a case: note, follow-up, end, death, referral ..."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.agreements import Consent, ConsentKind
from fieldnotes.domain.entries import (
    Amendment,
    Body,
    CaseEnd,
    Discharge,
    FollowUpOutcome,
    Hold,
    Note,
    Outcome,
    Referral,
    ReferralState,
)
from fieldnotes.tui.fields.choices import YES_NO, ChoiceField, lettered, of_words
from fieldnotes.tui.fields.field import Field, LongText
from fieldnotes.tui.fields.moments import DateField
from fieldnotes.tui.forms.form import Answers, Form, Pane, Reading

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from enum import StrEnum

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import CaseFile, Saved
    from fieldnotes.domain.errors import Problem

Fields = tuple[Field, ...]
CHANGE_PLANS = ("outcome", "discharge", "death", "referral", "hold")


class CaseForm(Form):
    """One page of fields that become one entry of a case."""

    def __init__(  # noqa: PLR0917  (it has these parts)
        self,
        desk: Casework,
        ref: str,
        name: str,
        words: str,
        fields: Callable[[Casework, CaseFile], Fields],
        build: Callable[[Reading], Body],
    ) -> None:
        self._desk = desk
        file = desk.file(ref)
        self.name = name
        self.case = file.case.ref
        self.title = f"{words}: {file.horse.name}"
        self.offers_handout = name in CHANGE_PLANS
        self._pane = (Pane(name, words, fields(desk, file)),)
        self._build = build

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the one page."""
        _ = answers
        return self._pane

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong."""
        r = Reading(self._pane, answers)
        body = self._build(r)
        return r.faults() or self._desk.check(self.case, body)

    def save(self, answers: Answers) -> Saved:
        """Add the entry."""
        return self._desk.record(self.case, self._build(Reading(self._pane, answers)))


def _one(key: str, label: str, kinds: Iterable[StrEnum], default: str = "") -> ChoiceField:
    return ChoiceField(
        key=key, label=label, given=of_words(k.value for k in kinds), default=default
    )


def _on(desk: Casework) -> DateField:
    return DateField(
        key="on", label="On", today=desk.today(), past=True, default="today", required=True
    )


def _outcome_fields(desk: Casework, file: CaseFile) -> Fields:
    tasks = lettered((t.key, f"{t.what}, due {t.due:%a %d %b}") for t in file.plan)
    return (
        ChoiceField(key="key", label="Follow-up", given=tasks, required=True,
                    default=tasks[0].id if tasks else ""),
        _one("outcome", "Outcome", Outcome, Outcome.DONE),
        _on(desk),
        DateField(key="moved_to", label="Moved to", today=desk.today(), also=("appointment",)),
        Field(key="who", label="By whom", hint="who did, moved or cancelled it"),
        Field(key="result", label="Result", hint="of a sample or radiograph"),
        ChoiceField(key="told_owner", label="Owner told", given=YES_NO),
        Field(key="reason", label="Reason"),
    )  # fmt: skip


def _outcome(r: Reading) -> Body:
    return FollowUpOutcome(
        r.get("key", ""), Outcome(r.get("outcome") or Outcome.DONE), r.get("on"), r.get("moved_to"),
        told_owner=bool(r.get("told_owner")), who=r.get("who", ""), reason=r.get("reason", ""),
        result=r.get("result", ""),
    )  # fmt: skip


def _consent_fields(desk: Casework, _file: CaseFile) -> Fields:
    return (
        _one("kind", "Kind", ConsentKind, ConsentKind.TREATMENT),
        _on(desk),
        LongText(key="what", label="What", required=True),
        LongText(key="risks_told", label="Risks told"),
        Field(key="by", label="By whom"),
        ChoiceField(key="written", label="Written", given=YES_NO),
        ChoiceField(key="given", label="Agreed", given=YES_NO, default="yes"),
        DateField(key="document_on", label="Document since", today=desk.today(), past=True,
                  hint="food chain exclusion: the day the horse's document says so"),
    )  # fmt: skip


def _consent(r: Reading) -> Body:
    return Consent(
        ConsentKind(r.get("kind") or ConsentKind.TREATMENT), r.get("on"), r.get("what", ""),
        r.get("risks_told", ""), r.get("by", ""), bool(r.get("written")), bool(r.get("given")),
        r.get("document_on"),
    )  # fmt: skip


def note(desk: Casework, ref: str) -> Form:
    """Give the form for a free note."""
    fields: Fields = (LongText(key="text", label="Note", required=True),)
    return CaseForm(desk, ref, "note", "Note", lambda *_: fields, lambda r: Note(r.get("text", "")))


def outcome(desk: Casework, ref: str) -> Form:
    """Give the form for what became of a follow-up."""
    return CaseForm(desk, ref, "outcome", "Follow-up", _outcome_fields, _outcome)


def discharge(desk: Casework, ref: str) -> Form:
    """Give the form that ends care."""
    return CaseForm(
        desk, ref, "discharge", "End of case",
        lambda d, _: (_one("end", "Ended as", CaseEnd, CaseEnd.HEALED), _on(d),
                      LongText(key="text", label="Words")),
        lambda r: Discharge(CaseEnd(r.get("end") or CaseEnd.HEALED), r.get("on"),
                            r.get("text", "")),
    )  # fmt: skip


def referral(desk: Casework, ref: str) -> Form:
    """Give the form for a referral."""
    names = (("to", "To"), ("by", "By"), ("told", "Told"))
    return CaseForm(
        desk, ref, "referral", "Referral",
        lambda d, _: (_one("state", "State", ReferralState, ReferralState.OFFERED), _on(d),
                      *(Field(key=k, label=label) for k, label in names)),
        lambda r: Referral(ReferralState(r.get("state") or ReferralState.OFFERED), r.get("on"),
                           **{k: r.get(k, "") for k, _ in names}),
    )  # fmt: skip


def hold(desk: Casework, ref: str) -> Form:
    """Give the form that puts a case on hold, or takes it off."""
    return CaseForm(
        desk, ref, "hold", "Hold",
        lambda d, f: (ChoiceField(key="on_hold", label="On hold", given=YES_NO,
                                  default="" if f.case.on_hold else "yes"),
                      _on(d), Field(key="reason", label="Reason")),
        lambda r: Hold(bool(r.get("on_hold")), r.get("on"), r.get("reason", "")),
    )  # fmt: skip


def consent(desk: Casework, ref: str) -> Form:
    """Give the form for a consent, a refusal or a notice."""
    return CaseForm(desk, ref, "consent", "Consent", _consent_fields, _consent)


MOST_ENTRIES = 30


def _amendment_fields(_desk: Casework, file: CaseFile) -> Fields:
    entries = [e for e in file.case.entries if e.kind not in {"amendment", "handout"}]
    given = ((e.id, f"{e.time:%d %b %H:%M} {e.kind}") for e in entries[::-1][:MOST_ENTRIES])
    return (
        ChoiceField(key="of", label="Corrects", given=lettered(given), required=True,
                    default=entries[-1].id, hint="the old entry stays readable beside it"),
        LongText(key="what", label="Should read", required=True),
        LongText(key="why", label="Because", required=True),
    )  # fmt: skip


def amendment(desk: Casework, ref: str) -> Form:
    """Give the form that corrects an entry by a new one beside it."""
    return CaseForm(
        desk, ref, "amendment", "Amendment", _amendment_fields,
        lambda r: Amendment(r.get("of", ""), r.get("what", ""), r.get("why", "")),
    )  # fmt: skip
