"""Normal vital signs by species and age class, lameness grades and the grimace scale."""

from __future__ import annotations

from dataclasses import dataclass

from fieldnotes.knowledge.source import Row, Table, shipped_table

Span = tuple[float, float]


@dataclass(frozen=True)
class VitalRange:
    """Normal ranges at rest of one age class."""

    name: str
    species: str
    age_days: tuple[int, int]
    temperature_c: Span
    heart_per_min: Span
    breaths_per_min: Span
    source: str


@dataclass(frozen=True)
class VitalTables:
    """Ranges, longest capillary refill, lameness meanings, grimace units."""

    ranges: tuple[VitalRange, ...]
    refill_most_s: float
    refill_source: str
    lameness: tuple[str, ...]
    grimace_units: tuple[str, ...]
    grimace_most: int


def _range(row: Row) -> VitalRange:
    low, high = row.pair("age_days")
    return VitalRange(
        name=row.text("class"),
        species=row.text("species"),
        age_days=(int(low), int(high)),
        temperature_c=row.pair("temperature_c"),
        heart_per_min=row.pair("heart_per_min"),
        breaths_per_min=row.pair("breaths_per_min"),
        source=row.source(),
    )


def load_vitals(table: Table | None = None) -> VitalTables:
    """Read the tables of vital signs."""
    read = table or shipped_table("vitals.toml")
    refill, grimace = read.rows("refill")[0], read.rows("grimace")[0]
    graded = sorted(read.rows("lameness"), key=lambda r: r.number("grade", least=0, most=5))
    return VitalTables(
        ranges=tuple(_range(r) for r in read.rows("vital")),
        refill_most_s=refill.number("most_s", least=0),
        refill_source=refill.source(),
        lameness=tuple(r.text("meaning") for r in graded),
        grimace_units=grimace.texts("units"),
        grimace_most=int(grimace.number("most_each", least=1)),
    )
