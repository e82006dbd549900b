"""Dressing choices by the state of the wound."""

from __future__ import annotations

from dataclasses import dataclass

from fieldnotes.knowledge.source import Row, Table, shipped_table


@dataclass(frozen=True)
class DressingRow:
    """A state of the wound and what goes on it; None = it does not matter here."""

    state: str
    phases: tuple[str, ...]
    exudates: tuple[str, ...]
    exposed: bool | None
    graft: bool | None
    infected: bool | None
    proud_flesh: bool | None
    prone: bool | None
    first: str
    alternative: str
    avoid: tuple[str, ...]
    reason: str
    source: str


def _asked(row: Row, field: str) -> bool | None:
    return row.flag(field) if field in row.data else None


def _dressing(row: Row) -> DressingRow:
    return DressingRow(
        state=row.text("state"),
        phases=row.texts("phases", ()),
        exudates=row.texts("exudates", ()),
        exposed=_asked(row, "exposed"),
        graft=_asked(row, "graft"),
        infected=_asked(row, "infected"),
        proud_flesh=_asked(row, "proud_flesh"),
        prone=_asked(row, "prone"),
        first=row.text("first"),
        alternative=row.text("alternative"),
        avoid=row.texts("avoid"),
        reason=row.text("reason"),
        source=row.source(),
    )


def load_dressings(table: Table | None = None) -> tuple[DressingRow, ...]:
    """Read the dressing choices, the most urgent state first."""
    read = table or shipped_table("dressings.toml")
    return tuple(_dressing(r) for r in read.rows("dressing"))
