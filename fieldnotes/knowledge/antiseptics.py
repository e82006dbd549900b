"""Antiseptics for lavage, their usual strength and what they do to an open synovial structure."""

from __future__ import annotations

from dataclasses import dataclass

from fieldnotes.knowledge.source import Row, Table, shipped_table


@dataclass(frozen=True)
class Antiseptic:
    """An antiseptic; from `synovial_below_percent` up it may not reach an open joint or sheath."""

    id: str
    name: str
    target_percent: tuple[float, float]
    stock_percent: tuple[float, ...]
    synovial_below_percent: float | None
    synovial_why: str
    synovial_instead: str
    synovial_source: str
    note: str
    source: str


def _antiseptic(row: Row) -> Antiseptic:
    stocks = row.data.get("stock_percent")
    if not isinstance(stocks, list) or not all(isinstance(s, float) for s in stocks):
        raise row.error("stock_percent", "a list of percentages is needed")
    synovial = "synovial_below_percent" in row.data
    return Antiseptic(
        id=row.text("id"),
        name=row.text("name"),
        target_percent=row.pair("target_percent"),
        stock_percent=tuple(stocks),
        synovial_below_percent=row.number_or_none("synovial_below_percent", least=0),
        synovial_why=row.text("synovial_why") if synovial else "",
        synovial_instead=row.text("synovial_instead") if synovial else "",
        synovial_source=row.source("synovial_source") if synovial else "",
        note=row.text("note"),
        source=row.source(),
    )


def load_antiseptics(table: Table | None = None) -> tuple[Antiseptic, ...]:
    """Read the antiseptics."""
    read = table or shipped_table("antiseptics.toml")
    return tuple(_antiseptic(r) for r in read.rows("antiseptic"))
