"""Minutes each task takes on the spot, and what to load for it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

from fieldnotes.knowledge.source import Row, Table, shipped_table

FILE: Final = "service.toml"
OTHER: Final = "other"
BANDAGED: Final = ("", "on", "always")


@dataclass(frozen=True)
class LoadItem:
    """Something a task needs: how many, of what unit."""

    item: str
    count: float
    unit: str
    source: str


@dataclass(frozen=True)
class Planned:
    """What a rule's task gives: a drug, by a route; repeated as it was last given in the case."""

    rule: str
    drug: str
    route: str
    source: str


@dataclass(frozen=True)
class Service:
    """One kind of task: its minutes and what it needs in the truck.

    `bandage` says whether a wound gets a new one: "always", "on" if it has one on, or "".
    """

    kind: str
    minutes: float
    items: tuple[LoadItem, ...]
    source: str
    bandage: str = ""


@dataclass(frozen=True)
class Services:
    """All kinds of task; `stop_min` is spent once at every stop, `horse_min` once per horse.

    `clean_down_min` follows an infected case seen early; what must be seen now is begun within
    `now_within_min`.
    """

    stop_min: float
    horse_min: float
    services: tuple[Service, ...]
    clean_down_min: float = 0.0
    now_within_min: float = 60.0
    planned: tuple[Planned, ...] = ()

    def get(self, kind: str) -> Service:
        """Give a kind's row, the one for other tasks where it has none."""
        found = {s.kind: s for s in self.services}
        return found.get(kind, found[OTHER])


def _item(row: Row, text: str) -> LoadItem:
    parts = [p.strip() for p in text.split("|")]
    if len(parts) != 3 or not parts[0].replace(".", "", 1).isdigit():
        raise row.error("load", f"{text!r} is not 'count | unit | item'")
    return LoadItem(parts[2], float(parts[0]), parts[1], row.source())


def _service(row: Row) -> Service:
    bandage = row.text("bandage", "")
    if bandage not in BANDAGED:
        raise row.error("bandage", "'always', 'on' or nothing")
    return Service(
        kind=row.text("kind"),
        minutes=row.number("minutes", least=0, most=480),
        items=tuple(_item(row, text) for text in row.texts("load", ())),
        source=row.source(),
        bandage=bandage,
    )


def _planned(row: Row) -> Planned:
    return Planned(row.text("rule"), row.text("drug"), row.text("route"), row.source())


def read_services(table: Table) -> Services:
    """Read and validate the table; KnowledgeError names file, row and field."""
    rows = table.rows("service")
    stop = table.rows("stop")[0]
    services = tuple(_service(r) for r in rows)
    if all(s.kind != OTHER for s in services):
        raise rows[0].error("kind", f"a row of kind {OTHER!r} is needed")
    return Services(
        stop_min=stop.number("stop_min", least=0),
        horse_min=stop.number("horse_min", least=0),
        services=services,
        clean_down_min=stop.number("clean_down_min", least=0),
        now_within_min=stop.number("now_within_min", least=0),
        planned=tuple(_planned(r) for r in table.rows("planned")),
    )


@cache
def load_services() -> Services:
    """Give the shipped table, read and validated once."""
    return read_services(shipped_table(FILE))
