"""The healing tables: expected retraction, published series, projection and flag rules."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import pi, sqrt

from fieldnotes.domain.errors import KnowledgeError
from fieldnotes.domain.urgency import Urgency
from fieldnotes.knowledge.source import Row, Table, shipped_table

UNKNOWN_GROUP = "unknown"


@dataclass(frozen=True)
class Retraction:
    """How long a wound of these region groups may grow before that is a warning."""

    groups: tuple[str, ...]
    open_days: float
    bandaged_days: float
    growth_factor: float
    expected: bool
    source: str

    def days(self, *, bandaged: bool) -> float:
        """Give the last day on which growth is no failure."""
        return self.bandaged_days if bandaged else self.open_days


@dataclass(frozen=True)
class Series:
    """A published healing series; areas in cm2, days from wounding, None = not seen."""

    id: str
    site: str
    group: str
    animals: int
    area_cm2: float | None
    closed_day: float | None
    closed_low: float | None
    closed_high: float | None
    in_band: bool
    limits: str
    source: str

    @property
    def net_rates_mm(self) -> tuple[float, ...]:
        """Equivalent radius over closing day, mm/day; also at the ends of its interval."""
        if self.area_cm2 is None:
            return ()
        radius_mm = 10 * sqrt(self.area_cm2 / pi)
        days = (self.closed_day, self.closed_low, self.closed_high)
        return tuple(radius_mm / day for day in days if day)


@dataclass(frozen=True)
class ProjectionRule:
    """How a closing day is projected, and when it is withheld."""

    confidence: float
    falls_needed: int
    most_days_ahead: float
    measuring_error_percent: float
    error_weight: float
    widening: float
    closed_area_cm2: float
    spike_factor: float
    source: str


@dataclass(frozen=True)
class FlagRule:
    """One rule that raises a flag: `test` names the check, `numbers` are its limits."""

    id: str
    flag: str
    test: str
    urgency: Urgency
    why: str
    numbers: tuple[tuple[str, float], ...]
    words: tuple[str, ...]
    source: str

    def number(self, name: str) -> float:
        """Give one of the rule's numbers; KnowledgeError if the row lacks it."""
        for key, value in self.numbers:
            if key == name:
                return value
        raise KnowledgeError(f"healing.toml, {self.id}: the check '{self.test}' needs {name}")


@dataclass(frozen=True)
class HealingTables:
    """All that `healing.toml` holds, validated."""

    retractions: tuple[Retraction, ...]
    granulation_from_day: float
    closing_percent: float
    phase_source: str
    projection: ProjectionRule
    series: tuple[Series, ...]
    flag_rules: tuple[FlagRule, ...]

    def retraction(self, group: str | None) -> Retraction:
        """Give the row of a region group; the row for an unknown place if there is none."""
        rows = {name: row for row in self.retractions for name in row.groups}
        return rows.get(group or UNKNOWN_GROUP, rows[UNKNOWN_GROUP])


def _retraction(row: Row) -> Retraction:
    return Retraction(
        groups=row.texts("groups"),
        open_days=row.number("open_days", least=0),
        bandaged_days=row.number("bandaged_days", least=0),
        growth_factor=row.number("growth_factor", least=1),
        expected=row.flag("expected"),
        source=row.source(),
    )


def _series(row: Row) -> Series:
    return Series(
        id=row.text("id"),
        site=row.text("site"),
        group=row.text("group"),
        animals=int(row.number("animals", least=1)),
        area_cm2=row.number_or_none("area_cm2", least=0),
        closed_day=row.number_or_none("closed_day", least=1),
        closed_low=row.number_or_none("closed_low", least=1),
        closed_high=row.number_or_none("closed_high", least=1),
        in_band=row.flag("in_band"),
        limits=row.text("limits", ""),
        source=row.source(),
    )


def _projection(row: Row) -> ProjectionRule:
    return ProjectionRule(
        confidence=row.number("confidence", least=0.5, most=0.99),
        falls_needed=int(row.number("falls_needed", least=1)),
        most_days_ahead=row.number("most_days_ahead", least=1),
        measuring_error_percent=row.number("measuring_error_percent", least=0.1, most=100),
        error_weight=row.number("error_weight", least=1),
        widening=row.number("widening", least=1, most=3),
        spike_factor=row.number("spike_factor", least=1),
        closed_area_cm2=row.number("closed_area_cm2", least=0.001),
        source=row.source(),
    )


def _flag_rule(row: Row) -> FlagRule:
    numbers = row.data.get("numbers", {})
    if not isinstance(numbers, dict):
        raise row.error("numbers", "a table of numbers is needed")
    limits = Row(row.file, row.text("id"), numbers)
    urgency = row.text("urgency")
    if urgency not in tuple(Urgency):
        raise row.error("urgency", f"one of: {', '.join(Urgency)}")
    return FlagRule(
        id=row.text("id"),
        flag=row.text("flag"),
        test=row.text("test"),
        urgency=Urgency(urgency),
        why=row.text("why"),
        numbers=tuple((name, limits.number(name)) for name in numbers),
        words=row.texts("words", ()),
        source=row.source(),
    )


def _only(table: Table, name: str) -> Row:
    section = table.data.get(name)
    if not isinstance(section, dict):
        raise KnowledgeError(f"{table.file}: [{name}] is needed")
    return Row(table.file, name, section)


def read_healing(table: Table) -> HealingTables:
    """Validate a healing table; KnowledgeError names file, row and field."""
    phases = _only(table, "phases")
    tables = HealingTables(
        retractions=tuple(_retraction(row) for row in table.rows("retraction")),
        granulation_from_day=phases.number("granulation_from_day", least=0),
        closing_percent=phases.number("closing_percent", least=0, most=100),
        phase_source=phases.source(),
        projection=_projection(_only(table, "projection")),
        series=tuple(_series(row) for row in table.rows("series")),
        flag_rules=tuple(_flag_rule(row) for row in table.rows("flag")),
    )
    if not any(UNKNOWN_GROUP in row.groups for row in tables.retractions):
        raise KnowledgeError(f"{table.file}: a [[retraction]] row for '{UNKNOWN_GROUP}' is needed")
    return tables


@cache
def load_healing() -> HealingTables:
    """Give the shipped healing tables, read and validated once."""
    return read_healing(shipped_table("healing.toml"))
