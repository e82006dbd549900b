"""The columns tables of owners, premises and horses may have, and what they may be headed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from fieldnotes.knowledge.source import Table, shipped_table


@dataclass(frozen=True)
class Column:
    """A field that can be read from a table; `words` are headings it goes by."""

    table: str
    id: str
    words: tuple[str, ...]
    required: bool


def read_columns(table: Table) -> tuple[Column, ...]:
    """Read the columns; KnowledgeError names the row that is wrong."""
    found = []
    for row in table.rows("column"):
        row.source()
        words = row.texts("words")
        found.append(
            Column(row.text("table"), row.text("id"), words, row.flag("required", default=False))
        )
    return tuple(found)


@cache
def load_columns() -> tuple[Column, ...]:
    """Give the shipped columns."""
    return read_columns(shipped_table("columns.toml"))
