"""What counts as an infection, proud flesh or a breakdown when outcomes are counted."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from fieldnotes.knowledge.source import Table, shipped_table

NAMES = ("infection", "sutured_infection", "proud_flesh", "dehiscence", "few")


@dataclass(frozen=True)
class Definition:
    """One thing counted: there from `least` on, seen `from_day` on; `words` tell the reader."""

    id: str
    least: float
    from_day: float
    words: str
    source: str


@dataclass(frozen=True)
class OutcomeTable:
    """The definitions outcomes are counted by."""

    definitions: tuple[Definition, ...]

    def definition(self, name: str) -> Definition:
        """Give one definition of NAMES."""
        return next(d for d in self.definitions if d.id == name)

    @property
    def few_below(self) -> int:
        """Below this many wounds a share is told as a count only."""
        return int(self.definition("few").least)


def read_outcomes(table: Table) -> OutcomeTable:
    """Read the definitions; KnowledgeError names the row that is wrong or the one missing."""
    rows = table.rows("definition")
    found = tuple(
        Definition(
            id=row.text("id"),
            least=row.number("least", least=1),
            from_day=row.number("from_day", 0.0, least=0),
            words=row.text("words"),
            source=row.source(),
        )
        for row in rows
    )
    for name in NAMES:
        if name not in {d.id for d in found}:
            raise rows[0].error("id", f"a definition of '{name}' is needed")
    return OutcomeTable(found)


@cache
def load_outcomes() -> OutcomeTable:
    """Give the shipped definitions."""
    return read_outcomes(shipped_table("outcomes.toml"))
