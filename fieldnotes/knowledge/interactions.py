"""Interaction and contraindication rules R1-R20 as data."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from fieldnotes.knowledge.source import Row, Table, shipped_table

KINDS = (
    "succession",
    "patient",
    "pair",
    "route",
    "total",
    "course",
    "place",
    "without",
    "competition",
    "food chain",
)
LEVELS = ("block", "warn", "note")


@dataclass(frozen=True)
class Rule:
    """A rule; `of` and `other` are drug ids or classes, `facts`/`near` need any one to hold."""

    id: str
    kind: str
    level: str
    of: tuple[str, ...]
    other: tuple[str, ...]
    routes: tuple[str, ...]
    within_h: float
    note_within_h: float
    facts: tuple[str, ...]
    unless: tuple[str, ...]
    near: tuple[str, ...]
    least_percent: float
    why: str
    note: str
    remedy: str
    source: str


@dataclass(frozen=True)
class Law:
    """What law or label says of a rule in one jurisdiction, known by any of its `names`.

    `level` is given where the rule weighs differently there.
    """

    rule: str
    names: tuple[str, ...]
    text: str
    level: str
    source: str


@dataclass(frozen=True)
class Condition:
    """A state of the animal a vet may tick; `holds_days` None = it holds for good."""

    fact: str
    holds_days: float | None
    implies: tuple[str, ...]
    source: str


@dataclass(frozen=True)
class Interactions:
    """The rules, law by jurisdiction, conditions, the ages of a foal, and pregnancy."""

    rules: tuple[Rule, ...]
    laws: tuple[Law, ...]
    conditions: tuple[Condition, ...]
    ages: tuple[tuple[str, int], ...]
    pregnancy_days: int
    last_days: int


def _rule(row: Row) -> Rule:
    kind, level = row.text("kind"), row.text("level")
    if kind not in KINDS:
        raise row.error("kind", f"one of {', '.join(KINDS)} is needed")
    if level not in LEVELS:
        raise row.error("level", f"one of {', '.join(LEVELS)} is needed")
    return Rule(
        id=row.text("id"),
        kind=kind,
        level=level,
        of=row.texts("of"),
        other=row.texts("other", ()),
        routes=row.texts("routes", ()),
        within_h=row.number("within_h", 0.0, least=0),
        note_within_h=row.number("note_within_h", 0.0, least=0),
        facts=row.texts("facts", ()),
        unless=row.texts("unless", ()),
        near=row.texts("near", ()),
        least_percent=row.number("least_percent", 0.0, least=0),
        why=row.text("why"),
        note=row.text("note", ""),
        remedy=row.text("remedy", ""),
        source=row.source(),
    )


def _law(row: Row, rules: tuple[Rule, ...]) -> Law:
    rule, level = row.text("rule"), row.text("level", "")
    if all(r.id != rule for r in rules):
        raise row.error("rule", f"no rule is called {rule}")
    if level and level not in LEVELS:
        raise row.error("level", f"one of {', '.join(LEVELS)} is needed")
    return Law(rule, row.texts("names"), row.text("text"), level, row.source())


def _condition(row: Row, rules: tuple[Rule, ...]) -> Condition:
    asked = {f for r in rules for f in r.facts}
    fact, implies = row.text("fact"), row.texts("implies", ())
    for name in (fact, *implies):
        if name not in asked:
            raise row.error("fact", f"no rule asks for {name!r}")
    return Condition(fact, row.number_or_none("holds_days", least=0.5), implies, row.source())


def load_interactions(table: Table | None = None) -> Interactions:
    """Read the rules."""
    read = table or shipped_table("interactions.toml")
    pregnancy = read.rows("pregnancy")[0]
    rules = tuple(_rule(r) for r in read.rows("rule"))
    return Interactions(
        rules=rules,
        laws=tuple(_law(r, rules) for r in read.rows("law")),
        conditions=tuple(_condition(r, rules) for r in read.rows("condition")),
        ages=tuple(
            (r.text("fact"), int(r.number("under_days", least=1))) for r in read.rows("age")
        ),
        pregnancy_days=int(pregnancy.number("days", least=300)),
        last_days=int(pregnancy.number("last_days", least=1)),
    )


def allowed_to(tables: Interactions, drug: str, near: str, most_percent: float) -> Interactions:
    """Give the rules with one antiseptic allowed near a place up to a strength, in percent."""
    over = math.nextafter(most_percent, math.inf)
    rules = (
        replace(r, least_percent=over) if r.of == (drug,) and near in r.near else r
        for r in tables.rules
    )
    return replace(tables, rules=tuple(rules))
