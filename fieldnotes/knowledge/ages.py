"""Until when an animal counts as a foal, for doses, flags, triage, follow-ups and handout alike."""

from __future__ import annotations

from functools import cache

from fieldnotes.knowledge.source import Table, shipped_table


def load_ages(table: Table | None = None) -> dict[str, int]:
    """Read the last day of each age class, by class; KnowledgeError names the first fault."""
    rows = (table or shipped_table("ages.toml")).rows("age")
    found = {}
    for row in rows:
        row.source()
        found[row.text("class")] = int(row.number("most_days", least=1, most=2000))
    return found


@cache
def _foal_days() -> int:
    return load_ages()["foal"]


def is_foal(age_days: int | None) -> bool:
    """Tell whether an animal counts as a foal; of unknown age it does not."""
    return age_days is not None and age_days <= _foal_days()
