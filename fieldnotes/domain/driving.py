"""What is said on the road: stops marked, calls taken, rules, orders and times told, stock."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TypeAlias

from fieldnotes.domain.urgency import Urgency

BASE = "base"
BREAK = "break"
"""The practice, and the break, where they stand among premises ids."""


class StopState(StrEnum):
    """Where a stop stands; SET_OFF is said of the base alone."""

    SET_OFF = "set off"
    THERE = "there"
    DONE = "done"
    DELAYED = "delayed"
    SKIPPED = "skipped"
    OPEN = "open"


@dataclass(frozen=True)
class Leg:
    """One logged drive: straight-line km and minutes; `reckoned` where no arrival was said."""

    km: float
    minutes: float
    start: str = ""
    end: str = ""
    reckoned: bool = False


@dataclass(frozen=True)
class Stay:
    """How long a stop took against what was planned for it; `kinds` are its kinds of task."""

    minutes: float
    planned_min: float
    kinds: tuple[str, ...] = ()
    horses: int = 1


@dataclass(frozen=True)
class Used:
    """How much of an item a done stop took out of the truck."""

    item: str
    count: float
    unit: str


@dataclass(frozen=True)
class StopMark:
    """How a stop of a day stands; the latest mark of a stop counts. `id` is date/premises.

    Of a delayed stop `arrived` is when it is now expected; `used` is what a done one used up.
    """

    id: str
    date: dt.date
    stop: str
    state: StopState
    arrived: dt.datetime | None = None
    left: dt.datetime | None = None
    delay_min: float = 0.0
    reason: str = ""
    leg: Leg | None = None
    stay: Stay | None = None
    used: tuple[Used, ...] = ()


class Rule(StrEnum):
    """What the vet asks of a stop's place in the day; NONE takes it back."""

    FIRST = "first"
    FINAL = "final"
    AT = "at"
    TODAY = "today"
    NONE = "none"


@dataclass(frozen=True)
class StopRule:
    """A lock on a stop of a day, with the reason where it goes against a rule of care."""

    id: str
    date: dt.date
    stop: str
    rule: Rule
    at: dt.datetime | None = None
    reason: str = ""


@dataclass(frozen=True)
class Call:
    """An urgent call taken on a day; `withdrawn` says why it is not driven to after all."""

    id: str
    date: dt.date
    premises: str
    horse: str
    what: str
    service_min: float
    urgency: Urgency
    taken_at: dt.datetime
    withdrawn: str = ""


@dataclass(frozen=True)
class DayOrder:
    """The order of a day as the vet accepted it, by premises; `id` is the date.

    `left_out` are the stops it puts off, `calls` the calls it has taken in.
    """

    id: str
    date: dt.date
    stops: tuple[str, ...]
    left_out: tuple[str, ...] = ()
    calls: tuple[str, ...] = ()


@dataclass(frozen=True)
class Promise:
    """An arrival window told to an owner; `id` is date/premises/owner. `withdrawn`: told off."""

    id: str
    date: dt.date
    premises: str
    owner: str
    opens: dt.datetime
    closes: dt.datetime
    withdrawn: bool = False


@dataclass(frozen=True)
class StockLine:
    """How much of an item is in the truck; `id` is item|unit, see `stock_id`."""

    id: str
    item: str
    count: float
    unit: str
    counted_on: dt.date | None = None
    counted_at: dt.datetime | None = None

    def before(self, mark: StopMark) -> bool:
        """Tell whether it was counted before a stop was left."""
        if self.counted_at is not None and mark.left is not None:
            return self.counted_at < mark.left
        return self.counted_on is None or self.counted_on < mark.date


def stock_id(item: str, unit: str) -> str:
    """Give what an item in the truck is known by."""
    return f"{item.casefold()}|{unit}"


@dataclass(frozen=True)
class StopMarked:
    """A stop was marked."""

    mark: StopMark


@dataclass(frozen=True)
class StopRuled:
    """A stop got a lock, or lost it."""

    rule: StopRule


@dataclass(frozen=True)
class CallTaken:
    """A call came in, or was withdrawn."""

    call: Call


@dataclass(frozen=True)
class OrderAccepted:
    """The vet accepted an order of the day."""

    order: DayOrder


@dataclass(frozen=True)
class WindowTold:
    """An owner was told when to expect the vet."""

    promise: Promise


@dataclass(frozen=True)
class StockCounted:
    """An item in the truck was counted."""

    stock: StockLine


RoadBody: TypeAlias = StopMarked | StopRuled | CallTaken | OrderAccepted | WindowTold | StockCounted
ROAD_KINDS: Mapping[str, type[RoadBody]] = {
    "mark": StopMarked,
    "rule": StopRuled,
    "call": CallTaken,
    "order": OrderAccepted,
    "promise": WindowTold,
    "stock": StockCounted,
}


@dataclass(frozen=True)
class Road:
    """Everything said on the road, by id: each kind as last said."""

    marks: Mapping[str, StopMark] = field(default_factory=dict)
    rules: Mapping[str, StopRule] = field(default_factory=dict)
    calls: Mapping[str, Call] = field(default_factory=dict)
    orders: Mapping[str, DayOrder] = field(default_factory=dict)
    promises: Mapping[str, Promise] = field(default_factory=dict)
    stock: Mapping[str, StockLine] = field(default_factory=dict)

    def marks_on(self, date: dt.date) -> Mapping[str, StopMark]:
        """Give a day's marks by stop, in the order they were left, then arrived at."""
        found = [m for m in self.marks.values() if m.date == date and m.state != StopState.OPEN]
        late = dt.datetime.max.replace(tzinfo=dt.UTC)
        return {m.stop: m for m in sorted(found, key=lambda m: m.left or m.arrived or late)}

    def rules_on(self, date: dt.date) -> Mapping[str, StopRule]:
        """Give a day's locks by stop."""
        found = (r for r in self.rules.values() if r.date == date and r.rule is not Rule.NONE)
        return {r.stop: r for r in found}

    def calls_on(self, date: dt.date) -> tuple[Call, ...]:
        """Give a day's calls, the first taken first."""
        found = (c for c in self.calls.values() if c.date == date and not c.withdrawn)
        return tuple(sorted(found, key=lambda c: (c.taken_at, c.id)))

    def promises_on(self, date: dt.date) -> tuple[Promise, ...]:
        """Give what owners were told about a day, earliest first."""
        found = (p for p in self.promises.values() if p.date == date and not p.withdrawn)
        return tuple(sorted(found, key=lambda p: (p.opens, p.id)))

    def in_truck(self) -> Mapping[str, StockLine]:
        """Give what was counted, less what the stops done since then used up."""
        return {
            key: replace(line, count=max(0.0, line.count - self._used(line)))
            for key, line in self.stock.items()
        }

    def _used(self, line: StockLine) -> float:
        done = (m for m in self.marks.values() if m.state is StopState.DONE and line.before(m))
        key = stock_id(line.item, line.unit)
        return sum(u.count for m in done for u in m.used if stock_id(u.item, u.unit) == key)

    def legs(self) -> tuple[Leg, ...]:
        """Give every logged drive, oldest day first."""
        found = sorted(self.marks.values(), key=lambda m: m.id)
        return tuple(m.leg for m in found if m.leg is not None)

    def stays(self) -> tuple[Stay, ...]:
        """Give how long stops took."""
        return tuple(m.stay for m in self.marks.values() if m.stay is not None)
