"""The practice's follow-up rules: what is in force and why, changing one, settling a dispute."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import KnowledgeError, RefusedInputError, UnknownNameError
from fieldnotes.domain.rulebook import DisputeSet, RuleChange, RuleSet, Settled
from fieldnotes.knowledge.disputes import load_disputes, one_dispute, option_in_force
from fieldnotes.knowledge.own_rules import with_changes
from fieldnotes.knowledge.rules import load_rules

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.knowledge.disputes import Dispute, Option
    from fieldnotes.knowledge.rules import Rule


MOST_DAYS = 730


@dataclass(frozen=True)
class RuleLine:
    """A rule as it stands: in force or off, as shipped, changed, or the practice's own."""

    rule: Rule
    state: str
    change: RuleChange | None

    @property
    def window(self) -> tuple[int, int, int]:
        """Earliest, due and latest day after the anchor."""
        return self.rule.earliest_days, self.rule.due_days, self.rule.latest_days


@dataclass(frozen=True)
class DisputeLine:
    """A dispute with the option in force, and what the practice said if it settled it."""

    dispute: Dispute
    chosen: Option
    settled: Settled | None


class RuleBook:
    """The rules over the desk; every change is an entry of the register, signed and dated."""

    def __init__(self, desk: Casework) -> None:
        self._desk = desk

    def rules(self) -> tuple[RuleLine, ...]:
        """Give every rule, shipped order first, those left out as well."""
        changes = self._desk.register().rules
        in_force = {rule.id: rule for rule in self._desk.knowledge.rules.rules}
        shipped = {rule.id: rule for rule in load_rules().rules}
        lines = []
        for rule_id in [*shipped, *(i for i in in_force if i not in shipped)]:
            rule = in_force.get(rule_id, shipped.get(rule_id))
            if rule is not None:
                lines.append(RuleLine(rule, _state(rule, in_force, shipped), changes.get(rule_id)))
        return tuple(lines)

    def rule(self, rule_id: str) -> RuleLine:
        """Give one rule by its id; UnknownNameError lists those that are near."""
        lines = self.rules()
        found = next((line for line in lines if line.rule.id == rule_id), None)
        if found is None:
            near = tuple(x.rule.id for x in lines if rule_id in x.rule.id)
            hint = f"; {', '.join(near)}" if near else ""
            raise UnknownNameError("rule", f"no rule is called '{rule_id}'{hint}", near)
        return found

    def problem(self, change: RuleChange) -> str:
        """Say what is wrong with a change; empty if it can be made."""
        if not change.reason.strip():
            return "why is the rule changed?"
        days = (*change.window_days, change.every_days or 0, change.until_days or 0)
        if any(abs(day) > MOST_DAYS for day in days):
            return f"no follow-up lies more than {MOST_DAYS} days away"
        changes = {**self._desk.register().rules, change.id: change}
        try:
            with_changes(changes, self._desk.register().disputes)
        except KnowledgeError as error:
            return str(error)
        return ""

    def set(self, change: RuleChange) -> Saved:
        """Change a rule, leave it out, or add one; what an earlier change said is kept."""
        before = self._desk.register().rules.get(change.id)
        merged = _over(before, change) if before and not before.shipped else change
        signed = replace(merged, set_by=self._signer(), on=self._desk.today())
        if wrong := self.problem(signed):
            raise RefusedInputError("rule", wrong)
        return self._desk.save(RuleSet(signed))

    def reset(self, rule_id: str, reason: str) -> Saved:
        """Take back every change of a rule; a rule of the practice's own goes."""
        self.rule(rule_id)
        change = RuleChange(rule_id, shipped=True, reason=reason)
        signed = replace(change, set_by=self._signer(), on=self._desk.today())
        if not reason.strip():
            raise RefusedInputError("reason", "why is the rule put back?")
        return self._desk.save(RuleSet(signed))

    def disputes(self) -> tuple[DisputeLine, ...]:
        """Give what the sources dispute, and which figure is in force."""
        return tuple(self._dispute(dispute) for dispute in load_disputes())

    def _dispute(self, dispute: Dispute) -> DisputeLine:
        settled = self._desk.register().disputes
        chosen = option_in_force(dispute, settled, self._desk.practice())
        return DisputeLine(dispute, chosen, settled.get(dispute.id))

    def settle(self, dispute_id: str, choice: str, reason: str) -> Saved:
        """Go by one of the disputed figures from now on."""
        dispute = one_dispute(dispute_id)
        option = dispute.option(choice)
        if option is None:
            names = tuple(o.id for o in dispute.options)
            raise UnknownNameError("choice", f"one of: {', '.join(names)}", names)
        if option.refused:
            raise RefusedInputError("choice", option.refused)
        if not reason.strip():
            raise RefusedInputError("reason", "why is this figure chosen?")
        if option.tetanus_months:
            self._set_tetanus(option.tetanus_months)
        day = self._desk.today()
        return self._desk.save(DisputeSet(Settled(dispute_id, choice, reason, self._signer(), day)))

    def _set_tetanus(self, months: int) -> None:
        from fieldnotes.domain.entries import PracticeSet  # noqa: PLC0415  (seldom needed)

        practice = replace(self._desk.practice(), tetanus_rule_months=months)
        self._desk.save(PracticeSet(practice))

    def _signer(self) -> str:
        author = self._desk.author()
        person = self._desk.register().people.get(author)
        return person.name if person else author


def _state(rule: Rule, in_force: dict[str, Rule], shipped: dict[str, Rule]) -> str:
    if rule.id not in in_force:
        return "off"
    if rule.id not in shipped:
        return "own"
    return "shipped" if in_force[rule.id] == shipped[rule.id] else "changed"


def _over(before: RuleChange, change: RuleChange) -> RuleChange:
    """Give a change laid over an earlier one of the same rule."""
    given = {
        name: value
        for name in RuleChange.__dataclass_fields__
        if (value := getattr(change, name)) not in ("", (), None)
    }
    return replace(before, **given)
