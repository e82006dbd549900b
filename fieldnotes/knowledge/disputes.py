"""Figures the sources dispute: the options, each with its source, and which one is in force."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from fieldnotes.domain.errors import KnowledgeError
from fieldnotes.knowledge.source import Row, Table, shipped_table


@dataclass(frozen=True)
class Option:
    """One answer to a dispute; it may move a rule's window or set the tetanus interval."""

    id: str
    words: str
    source: str
    rule: str
    window_days: tuple[int, ...]
    tetanus_months: int | None


@dataclass(frozen=True)
class Dispute:
    """What sources disagree on; `default` is the option in force until the practice settles."""

    id: str
    topic: str
    default: str
    options: tuple[Option, ...]

    def option(self, option_id: str) -> Option | None:
        """Give an option by its id."""
        return next((o for o in self.options if o.id == option_id), None)


def _window(row: Row) -> tuple[int, ...]:
    days = row.data.get("window_days", [])
    if not isinstance(days, list) or any(type(d) is not int for d in days):
        raise row.error("window_days", "three whole numbers are needed")
    return tuple(days)


def _option(row: Row) -> Option:
    months = row.number_or_none("tetanus_months", least=1)
    return Option(
        id=row.text("id"),
        words=row.text("words"),
        source=row.source(),
        rule=row.text("rule", ""),
        window_days=_window(row),
        tetanus_months=None if months is None else int(months),
    )


def _dispute(row: Row) -> Dispute:
    given = row.data.get("option")
    if not isinstance(given, list):
        raise row.error("option", "a dispute has options")
    options = tuple(_option(Row(row.file, row.text("id"), option)) for option in given)
    row.source()
    found = Dispute(row.text("id"), row.text("topic"), row.text("default"), options)
    if found.option(found.default) is None:
        raise row.error("default", f"{found.default!r} is none of the options")
    return found


def read_disputes(table: Table) -> tuple[Dispute, ...]:
    """Validate a table of disputes; KnowledgeError names file, row and field."""
    found = tuple(_dispute(row) for row in table.rows("dispute"))
    if len({d.id for d in found}) != len(found):
        raise KnowledgeError(f"{table.file}: an id stands twice")
    return found


@cache
def load_disputes() -> tuple[Dispute, ...]:
    """Give the shipped disputes, read and validated once."""
    return read_disputes(shipped_table("disputes.toml"))
