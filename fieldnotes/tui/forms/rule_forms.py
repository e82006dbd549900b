"""Forms of the rule book: change a follow-up rule, add one, settle a dispute."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldnotes.casework.rulebook import RuleBook
from fieldnotes.domain.errors import Problem
from fieldnotes.domain.rulebook import RuleChange
from fieldnotes.knowledge.rules import ANCHORS
from fieldnotes.tui.fields.choices import ChoiceField, lettered, of_words
from fieldnotes.tui.fields.field import Field, LongText, Option
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.forms.finding import find_among
from fieldnotes.tui.forms.form import Answers, Form, Pane, Reading

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.rulebook import RuleLine
    from fieldnotes.casework.views import Saved

DISPUTE = "dispute:"
DAYS = ("earliest", "due", "latest")
STATES = ("in force", "left out", "as shipped")
DOERS = ("vet", "owner", "changer")
_WHY = LongText(key="reason", label="Because", required=True)


def _day(key: str, label: str, default: str, least: float = 0) -> NumberField:
    return NumberField(key=key, label=label, unit="days", least=least, most=730, whole=True,
                       default=default)  # fmt: skip


class RuleForm(Form):
    """One page that changes a rule; without a rule, one that adds the practice's own."""

    def __init__(self, desk: Casework, rule_id: str) -> None:
        self._book = RuleBook(desk)
        self._line = self._book.rule(rule_id) if rule_id else None
        self.name, self.case = ("rule", rule_id) if rule_id else ("new_rule", "")
        self.title = f"Rule {rule_id}" if rule_id else "A rule of your own"
        fields = _changing(self._line) if self._line else _adding()
        self._pane = (Pane("rule", self.title, fields),)

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the one page."""
        _ = answers
        return self._pane

    def _change(self, r: Reading) -> RuleChange:
        """Give what differs from the rule as it stands."""
        line = self._line
        window = tuple(int(r.get(key) or 0) for key in DAYS)
        words: dict[str, Any] = {key: r.get(key) or "" for key in ("what", "owner_words", "by")}
        if line is None:
            return RuleChange(
                id=(r.get("id") or "").strip(), kind=r.get("kind") or "", window_days=window,
                anchor=r.get("anchor") or "", every_days=r.get("every"),
                until_days=r.get("until"), reason=r.get("reason") or "", **words,
            )  # fmt: skip
        kept: dict[str, Any] = {key: "" if value == getattr(line.rule, key) else value
                for key, value in words.items()}  # fmt: skip
        return RuleChange(
            id=line.rule.id,
            off=r.get("state") == "left out",
            window_days=() if window == line.window else window,
            reason=r.get("reason") or "",
            **kept,
        )

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong."""
        r = Reading(self._pane, answers)
        change = self._change(r)
        if faults := r.faults():
            return faults
        if self._line is not None and r.get("state") == "as shipped":
            return ()
        wrong = self._book.problem(change) if change.id else "give it a name"
        return (Problem("latest" if change.id else "id", wrong),) if wrong else ()

    def save(self, answers: Answers) -> Saved:
        """Write the change."""
        r = Reading(self._pane, answers)
        if self._line is not None and r.get("state") == "as shipped":
            return self._book.reset(self._line.rule.id, r.get("reason") or "")
        return self._book.set(self._change(r))


def _changing(line: RuleLine) -> tuple[Field, ...]:
    rule = line.rule
    days = (
        _day(key, key.capitalize(), str(day), least=-30)
        for key, day in zip(DAYS, line.window, strict=True)
    )
    return (
        ChoiceField(key="state", label="State", given=of_words(STATES),
                    default="left out" if line.state == "off" else "in force"),
        *days,
        ChoiceField(key="by", label="Who", given=of_words(DOERS), default=rule.by,
                    hint="changer: whoever changes the bandage"),
        LongText(key="what", label="What", default=rule.what),
        LongText(key="owner_words", label="For the owner", default=rule.owner_words),
        _WHY,
    )  # fmt: skip


def _adding() -> tuple[Field, ...]:
    anchors = tuple(Option(a, a) for a in ANCHORS)
    return (
        Field(key="id", label="Name", required=True, hint="short, e.g. own-hosing"),
        Field(key="kind", label="Kind", default="recheck", hint="e.g. recheck, owner look"),
        LongText(key="what", label="What", required=True),
        LongText(key="owner_words", label="For the owner", required=True),
        find_among("anchor", "After", anchors, "event", required=True),
        *(_day(key, key.capitalize(), "", least=-30) for key in DAYS),
        ChoiceField(key="by", label="Who", given=of_words(DOERS), default="vet"),
        _day("every", "Every", "", least=1),
        _day("until", "Until day", "", least=1),
        _WHY,
    )


class DisputeForm(Form):
    """One page that settles what the sources dispute."""

    name = "dispute"

    def __init__(self, desk: Casework, key: str) -> None:
        self._book = RuleBook(desk)
        wanted = key.removeprefix(DISPUTE)
        line = next(x for x in self._book.disputes() if x.dispute.id == wanted)
        self.case, self._id = key, wanted
        self.title = f"Disputed: {line.dispute.topic}"
        given = lettered((o.id, f"{o.words} ({o.source})") for o in line.dispute.options)
        choice = ChoiceField(key="choice", label="Go by", given=given, default=line.chosen.id)
        self._pane = (Pane("dispute", "Disputed", (choice, _WHY)),)

    def panes(self, answers: Answers) -> tuple[Pane, ...]:
        """Give the one page."""
        _ = answers
        return self._pane

    def problems(self, answers: Answers) -> tuple[Problem, ...]:
        """Give everything wrong."""
        return Reading(self._pane, answers).faults()

    def save(self, answers: Answers) -> Saved:
        """Write the choice."""
        r = Reading(self._pane, answers)
        return self._book.settle(self._id, r.get("choice") or "", r.get("reason") or "")


def new_rule(desk: Casework, _ref: str) -> Form:
    """Give the form for a rule of the practice's own."""
    return RuleForm(desk, "")
