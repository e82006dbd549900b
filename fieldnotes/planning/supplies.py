"""What to load for a round: bandage material, drugs and tools, with the stops they are for."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.clinical.bandage import kind_for, needs
from fieldnotes.clinical.costs import priced_item
from fieldnotes.clinical.courses import course
from fieldnotes.clinical.doses import dose
from fieldnotes.domain.driving import Used, stock_id
from fieldnotes.domain.followups import Doer
from fieldnotes.domain.treatment import Bandage
from fieldnotes.planning.facts import healed, last_bandage, owner_changes
from fieldnotes.planning.stops import task_kind

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from fieldnotes.clinical.bandage import Need
    from fieldnotes.clinical.doses import DoseOption
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.driving import StockLine
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.patients import Horse
    from fieldnotes.domain.treatment import DrugGiven
    from fieldnotes.knowledge.bandages import Bandages
    from fieldnotes.knowledge.drugs import Drug, Drugs
    from fieldnotes.knowledge.regions import RegionClass, Regions
    from fieldnotes.knowledge.rules import Rules
    from fieldnotes.knowledge.service import Planned, Services
    from fieldnotes.planning.stops import DueStop

REUSED = ("set", "each")
MEASURED = ("mL", "g")
COUNTED = ("roll", "sheet", "piece", "pack", "pair", "dose", "set", "litre", "tablet")
CHANGE = "bandage change"  # the kind of task that takes the material of one bandage


@dataclass(frozen=True)
class Load:
    """One line of the load list; `stops` are the names of the premises it is for.

    `stock` is what was counted in the truck (None: the practice keeps no count of it); `leave` is
    how much of `count` stays with owners, `metres` what of it is wound; `why` says how it was
    reckoned.
    """

    item: str
    count: float
    unit: str
    stops: tuple[str, ...]
    stock: float | None = None
    leave: float = 0.0
    metres: float = 0.0
    why: tuple[str, ...] = ()

    @property
    def short(self) -> float:
        """How much the truck is short of."""
        return 0.0 if self.stock is None else max(0.0, self.count - self.stock)

    @property
    def amount(self) -> str:
        """How much, in words: "2 rolls", "33 mL", "1" of a tool."""
        if self.unit == "each":
            return f"{self.count:g}"
        many = self.unit in COUNTED and self.count != 1
        return f"{self.count:g} {self.unit}{'s' if many else ''}"

    @property
    def said(self) -> str:
        """How much of what, and how much of it is left with owners."""
        of = " of" if self.unit in MEASURED else ""
        left = f", {self.leave:g} to leave" if self.leave else ""
        wound = f", {self.metres:.0f} m" if self.metres else ""
        return f"{self.amount}{of} {self.item}{wound}{left}"


@dataclass(frozen=True)
class Treated:
    """A case that is visited, its animal and its plan."""

    case: Case
    horse: Horse
    plan: tuple[FollowUp, ...]


@dataclass(frozen=True)
class Shelf:
    """The tables a load list is reckoned with."""

    rules: Rules
    services: Services
    bandages: Bandages
    regions: Regions
    drugs: Drugs


def load_list(
    stops: Iterable[DueStop], treated: Mapping[str, Treated], shelf: Shelf, today: dt.date
) -> tuple[Load, ...]:
    """Give what the stops' tasks need and what is left with owners, by item.

    `treated` are the cases by reference. A tool that is used again counts once.
    """
    found: dict[tuple[str, str], Load] = {}
    for stop in stops:
        for line in _lines(stop, treated, shelf, today):
            key = (line.item, line.unit)
            before = found.get(key)
            found[key] = line if before is None else _joined(before, line)
    return tuple(found[key] for key in sorted(found))


def _joined(one: Load, other: Load) -> Load:
    again = one.unit in REUSED
    return replace(
        one,
        count=max(one.count, other.count) if again else one.count + other.count,
        stops=tuple(dict.fromkeys((*one.stops, *other.stops))),
        leave=one.leave + other.leave,
        metres=one.metres + other.metres,
        why=(*one.why, *other.why),
    )


def used_up(loads: Iterable[Load]) -> tuple[Used, ...]:
    """Give what is not in the truck any more after the stops these loads are for."""
    return tuple(Used(x.item, x.count, x.unit) for x in loads if x.unit not in REUSED)


def _lines(
    stop: DueStop, treated: Mapping[str, Treated], shelf: Shelf, today: dt.date
) -> Iterator[Load]:
    at = (stop.name,)
    for _, _, kind in sorted({(t.horse, t.wounds, task_kind(t, shelf.rules)) for t in stop.tasks}):
        for need in shelf.services.get(kind).items:
            yield Load(need.item, need.count, need.unit, at)
    for ref in stop.cases:
        if (about := treated.get(ref)) is None:
            continue
        tasks = [t for t in stop.tasks if t.case == ref]
        for label in (w.label for w in about.case.wounds):
            yield from _bandage(about, label, tasks, shelf, at)
            yield from _left(about, label, shelf, at, today)
        for task in tasks:
            for gives in (p for p in shelf.services.planned if p.rule == task.rule):
                yield from _dose(about, gives, shelf.drugs, at, today)


def region_of(case: Case, wound: str, regions: Regions) -> RegionClass | None:
    """Give what is known of the place of a wound; None where the map does not name it."""
    ids = (w.region for w in case.wounds if w.label == wound and w.region in regions)
    return next((regions.get(i).cls for i in ids), None)


def _bandage(
    about: Treated, label: str, tasks: list[FollowUp], shelf: Shelf, at: tuple[str, ...]
) -> Iterator[Load]:
    """Give the material of the one bandage a wound gets today, if its tasks ask for one."""
    kinds = (task_kind(t, shelf.rules) for t in tasks if label in t.wounds)
    asked = {shelf.services.get(kind).bandage for kind in kinds}
    worn = last_bandage(about.case, label)
    region = region_of(about.case, label, shelf.regions)
    if worn is None and "always" in asked and region is not None and region.bandages:
        worn = Bandage(kind_for(region))
    if worn is None or not asked - {""} or healed(about.case, label):
        return
    for need in needs(shelf.bandages, worn, region):
        yield _material(need, at, f"{about.horse.name} {label}: {need.working}")


def _material(need: Need, at: tuple[str, ...], why: str, leave: float = 0.0) -> Load:
    return Load(need.item, need.count, need.unit, at, None, leave, need.metres or 0.0, (why,))


def changes_left(case: Case, label: str, plan: Iterable[FollowUp]) -> int:
    """Count the bandage changes of a wound that the plan leaves to the owner."""
    own = (
        t
        for t in plan
        if t.case == case.ref and t.by is Doer.OWNER and t.kind == CHANGE and label in t.wounds
    )
    return sum(t.series.times(t.due) if t.series else 1 for t in own)


def _left(
    about: Treated, label: str, shelf: Shelf, at: tuple[str, ...], today: dt.date
) -> Iterator[Load]:
    """Give what is left with an owner for the changes until the vet comes again."""
    worn = last_bandage(about.case, label)
    if worn is None or not owner_changes(about.case, label):
        return
    vets = [t.due for t in about.plan if t.by is Doer.VET and t.due > today]
    until = min(vets, default=dt.date.max)
    own = (_ending(t, until) for t in about.plan if today < t.due <= until or t.series)
    changes = changes_left(about.case, label, own)
    region = region_of(about.case, label, shelf.regions)
    for need in needs(shelf.bandages, worn, region, changes):
        why = f"{about.horse.name} {label}: for {changes} change(s) by the owner"
        yield _material(need, at, why, need.count)


def _ending(task: FollowUp, until: dt.date) -> FollowUp:
    """Give a task with its repeats cut at the vet's next visit."""
    if task.series is None or task.series.until <= until:
        return task
    return replace(task, series=replace(task.series, until=until))


def _dose(
    about: Treated, gives: Planned, drugs: Drugs, at: tuple[str, ...], today: dt.date
) -> Iterator[Load]:
    """Give the volume or count a planned dose takes; without a weight the dose alone."""
    drug = next((d for d in drugs if d.id == gives.drug), None)
    if drug is None:
        return
    weight = about.horse.weight()
    fixed = any(r.route == gives.route and not r.per_kg for r in drug.regimens)
    if weight is None and not fixed:
        why = f"{about.horse.name}: no weight, so no volume"
        yield Load(drug.name, 1, "dose", at, why=(why,))
        return
    kg = weight.kg if weight else _ANY_KG
    last = _last_given(about.case, drug)
    option = _option(drug, gives.route, kg, last, about.horse.age_days(today))
    if option is None:
        return
    took = course(replace(option, doses=1), 1)
    count = took.volume_ml if took.volume_ml is not None else took.units or 0.0
    said = "" if option.in_all else f"{option.per_kg:g} {drug.unit}/kg x {kg:g} kg, "
    pack = option.strength.pack
    why = f"{about.horse.name}: {said}{option.amount:,.0f} {drug.unit}"
    why += f", {took.containers} of {pack:g} {option.strength.per}" if pack else ""
    yield Load(
        priced_item(drug.name, option), round(count, 2), option.strength.per, at,
        why=(why,),
    )  # fmt: skip


_ANY_KG = 500.0  # a dose for the animal whatever it weighs needs some weight to be reckoned


def _last_given(case: Case, drug: Drug) -> DrugGiven | None:
    found = [g for v in case.visits for g in v.body.given if g.drug == drug.id]
    return max(found, key=lambda g: g.at) if found else None


def _option(
    drug: Drug, route: str, kg: float, last: DrugGiven | None, age_days: int | None
) -> DoseOption | None:
    """Give the dose as it was last given, else the first published, at its high end."""
    by, per_kg = (last.route, last.per_kg) if last else (route, None)
    if all(r.route != by for r in drug.regimens):
        by = route
    options = dose(drug, kg, per_kg=per_kg, route=by, age_days=age_days).options
    strength = last.strength.casefold() if last else ""
    same = [o for o in options if strength and f"{o.strength.amount:g} " in strength]
    first = same or options
    return next((o for o in first if o.end == "high"), next(iter(first), None))


def with_stock(loads: Iterable[Load], stock: Mapping[str, StockLine]) -> tuple[Load, ...]:
    """Give the list with what is in the truck, what it is short of first."""
    counted = {stock_id(s.item, s.unit): s.count for s in stock.values()}
    found = (replace(x, stock=counted.get(stock_id(x.item, x.unit))) for x in loads)
    return tuple(sorted(found, key=lambda x: (x.short == 0, x.item, x.unit)))
