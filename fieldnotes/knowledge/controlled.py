"""Which drugs are controlled where, and what the law there asks; the practice may mark its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.knowledge.source import Row, Table, shipped_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldnotes.domain.formulary import PracticeDrug


@dataclass(frozen=True)
class Jurisdiction:
    """A body of law, the names it goes by, and what it asks of a practice."""

    id: str
    names: tuple[str, ...]
    asks: str
    source: str


@dataclass(frozen=True)
class ControlledDrug:
    """A controlled drug under one law; `register` if its use goes into the register."""

    drug: str
    jurisdiction: str
    schedule: str
    register: bool
    source: str


@dataclass(frozen=True)
class ControlledTables:
    """All jurisdictions and their drugs."""

    jurisdictions: tuple[Jurisdiction, ...]
    drugs: tuple[ControlledDrug, ...]

    def jurisdiction(self, text: str) -> Jurisdiction | None:
        """Give the law a practice's setting names; None if it is none of these."""
        wanted = text.strip().casefold()
        return next(
            (j for j in self.jurisdictions if wanted in {n.casefold() for n in j.names}), None
        )


def _jurisdiction(row: Row) -> Jurisdiction:
    return Jurisdiction(row.text("id"), row.texts("names"), row.text("asks"), row.source())


def _controlled(row: Row, known: frozenset[str]) -> ControlledDrug:
    if row.text("jurisdiction") not in known:
        raise row.error("jurisdiction", f"one of {', '.join(sorted(known))} is needed")
    return ControlledDrug(
        drug=row.text("drug"),
        jurisdiction=row.text("jurisdiction"),
        schedule=row.text("schedule"),
        register=row.flag("register"),
        source=row.source(),
    )


def load_controlled(table: Table | None = None) -> ControlledTables:
    """Read the table; KnowledgeError names file, row and field of the first fault."""
    read = table or shipped_table("controlled.toml")
    laws = tuple(_jurisdiction(r) for r in read.rows("jurisdiction"))
    known = frozenset(law.id for law in laws)
    return ControlledTables(laws, tuple(_controlled(r, known) for r in read.rows("controlled")))


def registered(
    tables: ControlledTables, jurisdiction: str, own: Mapping[str, PracticeDrug]
) -> dict[str, ControlledDrug]:
    """Give the drugs that go into the register, by id: the law's, then the practice's own marks.

    Where the practice has named no law of the table, a drug counts if any law controls it.
    """
    law = tables.jurisdiction(jurisdiction)
    found: dict[str, ControlledDrug] = {}
    for row in tables.drugs:
        if row.register and (law is None or row.jurisdiction == law.id):
            found.setdefault(row.drug, row)
    for drug in own.values():
        if drug.mark is None:
            continue
        if drug.mark.controlled:
            source = f"practice, set by {drug.mark.set_by} on {drug.mark.on}: {drug.mark.why}"
            found[drug.id] = ControlledDrug(drug.id, jurisdiction, "own mark", True, source)
        else:
            found.pop(drug.id, None)
    return found
