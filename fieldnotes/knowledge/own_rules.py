"""The practice's own follow-up rules: its changes and settled disputes over the shipped table."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from fieldnotes.knowledge.disputes import load_disputes
from fieldnotes.knowledge.rules import Rules, load_rules, practice_rules
from fieldnotes.knowledge.source import Table

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from fieldnotes.domain.rulebook import RuleChange, RuleFact, Settled

FILE: Final = "the practice's rules"
OWN: Final = "set by the practice"
_TEXTS = ("kind", "what", "owner_words", "by", "anchor", "urgency")


def with_changes(changes: Mapping[str, RuleChange], settled: Mapping[str, Settled]) -> Rules:
    """Give the rules in force; KnowledgeError names the row and field that cannot be right."""
    rows = {str(row["id"]): row for row in _settled_rows(settled)}
    for change in changes.values():
        if not change.shipped:
            rows[change.id] = rows.get(change.id, {}) | _row(change)
    return practice_rules(Table(FILE, {"rule": list(rows.values())})) if rows else load_rules()


def _settled_rows(settled: Mapping[str, Settled]) -> Iterator[dict[str, Any]]:
    for dispute in load_disputes():
        said = settled.get(dispute.id)
        option = dispute.option(said.choice) if said else None
        if said is not None and option is not None and option.rule:
            words = f"{OWN} ({said.set_by}, {said.on}: {said.reason}; {option.source})"
            yield {"id": option.rule, "window_days": list(option.window_days), "source": words}


def _facts(facts: Iterable[RuleFact]) -> dict[str, list[str]]:
    return {fact.fact: list(fact.any_of) for fact in facts}


def _row(change: RuleChange) -> dict[str, Any]:
    """Give a change as a row of the table, with only what it names."""
    row: dict[str, Any] = {"id": change.id}
    if change.off:
        return row | {"off": True}
    row |= {name: value for name in _TEXTS if (value := getattr(change, name))}
    row |= {"when": _facts(change.when)} if change.when else {}
    row |= {"unless": _facts(change.unless)} if change.unless else {}
    row |= {"window_days": list(change.window_days)} if change.window_days else {}
    row |= {"done_by": list(change.done_by)} if change.done_by else {}
    row |= {"every_days": change.every_days} if change.every_days else {}
    row |= {"until_days": change.until_days} if change.until_days else {}
    return row | {"source": _source(change)}


def _source(change: RuleChange) -> str:
    shipped = load_rules().get(change.id)
    before = f"; shipped: {shipped.source}" if shipped else ""
    return f"{OWN} ({change.set_by}, {change.on}: {change.reason}{before})"
