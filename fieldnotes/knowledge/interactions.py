"""Interaction and contraindication rules R1-R20 as data."""

from __future__ import annotations

from dataclasses import dataclass

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
class Interactions:
    """The rules, the ages that make a foal, and how long a mare is pregnant."""

    rules: tuple[Rule, ...]
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


def load_interactions(table: Table | None = None) -> Interactions:
    """Read the rules."""
    read = table or shipped_table("interactions.toml")
    pregnancy = read.rows("pregnancy")[0]
    return Interactions(
        rules=tuple(_rule(r) for r in read.rows("rule")),
        ages=tuple(
            (r.text("fact"), int(r.number("under_days", least=1))) for r in read.rows("age")
        ),
        pregnancy_days=int(pregnancy.number("days", least=300)),
        last_days=int(pregnancy.number("last_days", least=1)),
    )
