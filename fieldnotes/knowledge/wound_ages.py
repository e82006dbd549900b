"""How old a wound is when it is first seen, in classes, and what that means for closing it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from fieldnotes.domain.errors import KnowledgeError
from fieldnotes.knowledge.source import Row, Table, shipped_table


@dataclass(frozen=True)
class AgeClass:
    """A class of wounds by hours since the injury; the last one has no end."""

    number: int
    under_hours: float
    means: str
    advice: str
    source: str


@dataclass(frozen=True)
class WoundAges:
    """The classes, youngest first, and the hours within which a closure is called primary."""

    classes: tuple[AgeClass, ...]
    primary_within_hours: float
    source: str


def read_wound_ages(table: Table) -> WoundAges:
    """Validate the table; KnowledgeError if the classes do not follow each other to the end."""
    classes = tuple(_class(row) for row in table.rows("age"))
    ends = [c.under_hours for c in classes]
    if not ends or ends != sorted(set(ends)) or ends[-1] != math.inf:
        raise KnowledgeError(f"{table.file}: the classes must rise, and the last have no end")
    closing = Row(table.file, "closing", table.data.get("closing", {}))
    return WoundAges(classes, closing.number("primary_within_hours", least=0), closing.source())


def _class(row: Row) -> AgeClass:
    return AgeClass(
        number=int(row.number("class", least=1)),
        under_hours=row.number("under_hours", math.inf, least=0),
        means=row.text("means"),
        advice=row.text("advice"),
        source=row.source(),
    )


@cache
def load_wound_ages() -> WoundAges:
    """Give the shipped classes, read and validated once."""
    return read_wound_ages(shipped_table("wound_ages.toml"))
