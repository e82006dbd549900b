"""Bounds outside which a typed figure cannot be right."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from fieldnotes.knowledge.source import Table, shipped_table


@dataclass(frozen=True)
class Limit:
    """The bounds of one quantity; `id` is the name of the field that holds it."""

    id: str
    words: str
    least: float
    most: float
    unit: str
    source: str

    def fault(self, value: float) -> str:
        """Say what is wrong with a value, in the reader's words; empty if nothing is."""
        if self.least <= value <= self.most:
            return ""
        unit = f" {self.unit}" if self.unit else ""
        return (
            f"{self.words} {value:g}{unit} cannot be right ({self.least:g} to {self.most:g}{unit})"
        )


Limits = dict[str, Limit]


def read_limits(table: Table) -> Limits:
    """Read the bounds by field name; KnowledgeError names the row that is wrong."""
    found = [
        Limit(
            id=row.text("id"),
            words=row.text("words"),
            least=row.number("least"),
            most=row.number("most", least=row.number("least")),
            unit=row.text("unit"),
            source=row.source(),
        )
        for row in table.rows("limit")
    ]
    return {limit.id: limit for limit in found}


@cache
def load_limits() -> Limits:
    """Give the shipped bounds."""
    return read_limits(shipped_table("limits.toml"))
