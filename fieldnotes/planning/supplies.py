"""What to load for a round: materials and tools by task, summed, with the stops they are for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.domain.driving import Used, stock_id
from fieldnotes.planning.stops import task_kind

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from fieldnotes.domain.driving import StockLine
    from fieldnotes.knowledge.rules import Rules
    from fieldnotes.knowledge.service import Services
    from fieldnotes.planning.stops import DueStop

REUSED = ("set", "each")


@dataclass(frozen=True)
class Load:
    """One line of the load list; `stops` are the names of the premises it is for.

    `stock` is what was counted in the truck (None: the practice keeps no count of it).
    """

    item: str
    count: float
    unit: str
    stops: tuple[str, ...]
    stock: float | None = None

    @property
    def short(self) -> float:
        """How much the truck is short of."""
        return 0.0 if self.stock is None else max(0.0, self.count - self.stock)


def load_list(stops: Iterable[DueStop], rules: Rules, services: Services) -> tuple[Load, ...]:
    """Give what the stops' tasks need, by item; a tool that is used again counts once."""
    counts: dict[tuple[str, str], float] = {}
    names: dict[tuple[str, str], list[str]] = {}
    for stop in stops:
        kinds = {(t.horse, t.wounds, task_kind(t, rules)) for t in stop.tasks}
        for _, _, kind in sorted(kinds):
            for need in services.get(kind).items:
                key = (need.item, need.unit)
                before = counts.get(key, 0.0)
                again = need.unit in REUSED
                counts[key] = max(before, need.count) if again else before + need.count
                names.setdefault(key, []).append(stop.name)
    return tuple(
        Load(item, counts[item, unit], unit, tuple(dict.fromkeys(names[item, unit])))
        for item, unit in sorted(counts)
    )


def used_up(loads: Iterable[Load]) -> tuple[Used, ...]:
    """Give what is not in the truck any more after the stops these loads are for."""
    return tuple(Used(x.item, x.count, x.unit) for x in loads if x.unit not in REUSED)


def with_stock(loads: Iterable[Load], stock: Mapping[str, StockLine]) -> tuple[Load, ...]:
    """Give the list with what is in the truck, what it is short of first."""
    counted = {stock_id(s.item, s.unit): s.count for s in stock.values()}
    found = (replace(x, stock=counted.get(stock_id(x.item, x.unit))) for x in loads)
    return tuple(sorted(found, key=lambda x: (x.short == 0, x.item, x.unit)))
