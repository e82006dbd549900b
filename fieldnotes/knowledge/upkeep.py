"""What the store warns of: free space, the clock, folders that are synced, overdue backups."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from fieldnotes.knowledge.source import Table, shipped_table


@dataclass(frozen=True)
class UpkeepBounds:
    """The figures by which a store is kept; each is a row of `upkeep.toml`."""

    free_space_mb: float
    clock_behind_min: float
    clock_ahead_days: float
    backup_days: float
    archives: int
    retention_years: int
    synced: tuple[str, ...]


def read_upkeep(table: Table) -> UpkeepBounds:
    """Read the bounds; KnowledgeError names the row that is wrong or missing."""
    found = {}
    for row in table.rows("bound"):
        row.source()
        found[row.text("id")] = row.number("value", least=0)
    names: list[str] = []
    for row in table.rows("synced"):
        row.source()
        names += row.texts("names")
    try:
        return UpkeepBounds(
            free_space_mb=found["free_space_mb"],
            clock_behind_min=found["clock_behind_min"],
            clock_ahead_days=found["clock_ahead_days"],
            backup_days=found["backup_days"],
            archives=int(found["archives"]),
            retention_years=int(found["retention_years"]),
            synced=tuple(names),
        )
    except KeyError as error:
        raise table.rows("bound")[0].error("id", f"there is no row {error}") from error


@cache
def load_upkeep() -> UpkeepBounds:
    """Give the shipped bounds."""
    return read_upkeep(shipped_table("upkeep.toml"))
