"""Weight formulas with their coefficients, stated error and source, and what a tape can read."""

from __future__ import annotations

from dataclasses import dataclass, replace

from fieldnotes.knowledge.source import Row, Table, shipped_table

MEASURES = ("girth", "length", "height", "neck", "umbilical")
Term = tuple[str, float]


@dataclass(frozen=True)
class Formula:
    """A weight formula: measures to a power over a divisor, or a weighted sum over it.

    `units` is "cm" (gives kg) or "in" (gives lb); `first` marks a build's chosen formula.
    """

    id: str
    build: str
    species: str
    text: str
    units: str
    power: tuple[Term, ...]
    factors: tuple[Term, ...]
    constant: float
    divisor: float
    age_days: tuple[int, int] | None
    range_kg: tuple[float, float] | None
    first: bool
    error: str
    source: str

    @property
    def needs(self) -> tuple[str, ...]:
        """The measures it takes."""
        return tuple(name for name, _ in (*self.power, *self.factors))


@dataclass(frozen=True)
class Readable:
    """The range in cm a tape can read for a measure on some builds."""

    builds: tuple[str, ...]
    measure: str
    low_cm: float
    high_cm: float
    source: str


@dataclass(frozen=True)
class Weights:
    """All weight formulas, ideal weights, readable ranges and the cresty-neck ratio."""

    formulas: tuple[Formula, ...]
    ideals: tuple[Formula, ...]
    readable: tuple[Readable, ...]
    cresty_ratio: float
    cresty_source: str

    @property
    def builds(self) -> tuple[str, ...]:
        """The builds that have a formula."""
        return tuple(dict.fromkeys(f.build for f in self.formulas))


def _terms(row: Row, field: str) -> tuple[Term, ...]:
    terms = row.data.get(field, {})
    if not isinstance(terms, dict) or not set(terms) <= set(MEASURES):
        raise row.error(field, f"a table of {', '.join(MEASURES)} is needed")
    inner = Row(row.file, f"{row.name}, {field}", terms)
    return tuple((name, inner.number(name)) for name in terms)


def _formula(row: Row) -> Formula:
    units = row.text("units")
    if units not in {"cm", "in"}:
        raise row.error("units", "cm or in is needed")
    ages = row.pair("age_days") if "age_days" in row.data else None
    return Formula(
        id=row.text("id", row.text("build")),
        build=row.text("build"),
        species=row.text("species", "horse"),
        text=row.text("text"),
        units=units,
        power=_terms(row, "power"),
        factors=_terms(row, "factors"),
        constant=row.number("constant", 0.0),
        divisor=row.number("divisor", 1.0, least=0.01),
        age_days=(int(ages[0]), int(ages[1])) if ages else None,
        range_kg=row.pair("range_kg") if "range_kg" in row.data else None,
        first=row.flag("first", default=False),
        error=row.text("error", ""),
        source=row.source(),
    )


def _readable(row: Row) -> tuple[Readable, ...]:
    builds = row.texts("builds")
    return tuple(
        Readable(builds, name, *row.pair(name), row.source())
        for name in MEASURES
        if name in row.data
    )


def load_weights(table: Table | None = None) -> Weights:
    """Read the weight formulas."""
    read = table or shipped_table("weights.toml")
    neck = read.rows("neck")[0]
    return Weights(
        formulas=tuple(_formula(r) for r in read.rows("formula")),
        ideals=tuple(_formula(r) for r in read.rows("ideal")),
        readable=tuple(x for r in read.rows("measure") for x in _readable(r)),
        cresty_ratio=neck.number("ratio", least=0),
        cresty_source=neck.source(),
    )


def without_formula(weights: Weights, formula_id: str) -> Weights:
    """Give the formulas with one left out; an empty id leaves none out."""
    return replace(weights, formulas=tuple(f for f in weights.formulas if f.id != formula_id))
