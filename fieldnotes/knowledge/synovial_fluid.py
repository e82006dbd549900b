"""Cut-offs of synovial fluid."""

from __future__ import annotations

from dataclasses import dataclass

from fieldnotes.knowledge.source import Row, Table, shipped_table


@dataclass(frozen=True)
class Cutoff:
    """One measure: from where it is suspicious, from where septic, and what is normal."""

    id: str
    words: str
    unit: str
    grey_from: float
    septic_from: float
    normal_below: float | None
    normal_of_plasma: tuple[float, float] | None
    source: str


@dataclass(frozen=True)
class SynovialTable:
    """All measures, the standing caution, and the bedside print test."""

    measures: tuple[Cutoff, ...]
    never: str
    never_source: str
    unreadable: str
    unreadable_source: str


def _cutoff(row: Row) -> Cutoff:
    grey = row.number("grey_from", least=0)
    plasma = row.pair("normal_of_plasma") if "normal_of_plasma" in row.data else None
    return Cutoff(
        id=row.text("id"),
        words=row.text("words"),
        unit=row.text("unit"),
        grey_from=grey,
        septic_from=row.number("septic_from", least=grey),
        normal_below=row.number_or_none("normal_below", least=0),
        normal_of_plasma=plasma,
        source=row.source(),
    )


def load_synovial_fluid(table: Table | None = None) -> SynovialTable:
    """Read the cut-offs."""
    read = table or shipped_table("synovial_fluid.toml")
    never, unread = read.rows("never")[0], read.rows("print")[0]
    return SynovialTable(
        measures=tuple(_cutoff(r) for r in read.rows("measure")),
        never=never.text("text"),
        never_source=never.source(),
        unreadable=unread.text("text"),
        unreadable_source=unread.source(),
    )
