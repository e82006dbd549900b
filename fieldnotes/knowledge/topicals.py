"""Topicals with the evidence for and against them."""

from __future__ import annotations

from dataclasses import dataclass

from fieldnotes.knowledge.source import Row, Table, shipped_table


@dataclass(frozen=True)
class Topical:
    """A topical: what speaks for it, what against, and whether it slows healing."""

    id: str
    good: tuple[str, ...]
    bad: tuple[str, ...]
    slows_healing: bool
    source: str


def _topical(row: Row) -> Topical:
    return Topical(
        id=row.text("id"),
        good=row.texts("good"),
        bad=row.texts("bad"),
        slows_healing=row.flag("slows_healing"),
        source=row.source(),
    )


def load_topicals(table: Table | None = None) -> tuple[Topical, ...]:
    """Read the topicals."""
    return tuple(_topical(r) for r in (table or shipped_table("topicals.toml")).rows("topical"))
