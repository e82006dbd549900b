"""Figures the sources dispute: the options, each with its source, and which one is in force."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import KnowledgeError, UnknownNameError
from fieldnotes.domain.wounds import Measuring
from fieldnotes.knowledge.source import Row, Table, shipped_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldnotes.domain.patients import Practice
    from fieldnotes.domain.rulebook import Settled


@dataclass(frozen=True)
class Option:
    """One answer to a dispute, and what it sets.

    `rule` and `window_days` move a follow-up, `tetanus_months` is the booster's interval,
    `closure_hours` the age up to which primary closure goes without a warning, `measuring` how
    two sides are read, `without_formula` a weight formula left out, `most_percent` up to which
    strength chlorhexidine may come near a joint. `refused` says why nobody may choose it.
    """

    id: str
    words: str
    source: str
    rule: str
    window_days: tuple[int, ...]
    tetanus_months: int | None
    closure_hours: float | None = None
    measuring: Measuring | None = None
    without_formula: str = ""
    most_percent: float | None = None
    refused: str = ""


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
        closure_hours=row.number_or_none("closure_hours", least=0),
        measuring=_measuring(row),
        without_formula=row.text("without_formula", ""),
        most_percent=row.number_or_none("most_percent", least=0),
        refused=row.text("refused", ""),
    )


def _measuring(row: Row) -> Measuring | None:
    said = row.text("measuring", "")
    if said and said not in {m.value for m in Measuring}:
        raise row.error("measuring", f"'{said}' is no way of measuring")
    return Measuring(said) if said else None


def _dispute(row: Row) -> Dispute:
    given = row.data.get("option")
    if not isinstance(given, list):
        raise row.error("option", "a dispute has options")
    options = tuple(_option(Row(row.file, row.text("id"), option)) for option in given)
    row.source()
    found = Dispute(row.text("id"), row.text("topic"), row.text("default"), options)
    default = found.option(found.default)
    if default is None or default.refused:
        raise row.error("default", f"{found.default!r} is none of the options to choose from")
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


def option_in_force(
    dispute: Dispute, settled: Mapping[str, Settled], practice: Practice | None
) -> Option:
    """Give the option the practice goes by, else the default."""
    said = settled.get(dispute.id)
    wanted = said.choice if said else dispute.default
    if practice is not None and any(o.tetanus_months for o in dispute.options):
        wanted = str(practice.tetanus_rule_months)
    chosen = dispute.option(wanted)
    return chosen or dispute.option(dispute.default) or dispute.options[0]


def one_dispute(dispute_id: str) -> Dispute:
    """Give a dispute by its id; UnknownNameError lists them all."""
    found = next((d for d in load_disputes() if d.id == dispute_id), None)
    if found is None:
        names = tuple(d.id for d in load_disputes())
        raise UnknownNameError("dispute", f"one of: {', '.join(names)}", names)
    return found
