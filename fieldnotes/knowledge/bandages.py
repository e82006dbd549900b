"""Bandage tables: kinds, layers from the skin outward, rules, rolls and materials per change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fieldnotes.domain.errors import UnknownNameError
from fieldnotes.knowledge.source import Row, Table, shipped_table

Supply = tuple[str, float, str]
WAYS = ("wound", "laid", "piece")


@dataclass(frozen=True)
class BuildLayer:
    """One layer of a default build; `on` names the kinds that have it."""

    role: str
    material: str
    purpose: str
    rule: str
    thickness_cm: float | None
    on: tuple[str, ...]
    source: str


@dataclass(frozen=True)
class BandageKind:
    """A kind of bandage: what it covers, whether it needs a wrap below, materials per change.

    `airway` if it goes round the head or neck; `below` is the region class its lower wrap is on.
    """

    id: str
    height_cm: float
    low: str
    high: str
    lower_wrap: bool
    notes: tuple[str, ...]
    supplies: tuple[Supply, ...]
    supplies_source: str
    source: str
    airway: bool = False
    below: str = ""


@dataclass(frozen=True)
class LowerWrap:
    """The wrap under an upper-limb bandage: so built, `said` where a layer's text means it."""

    kind: str
    roles: tuple[str, ...]
    said: tuple[str, ...]
    source: str


@dataclass(frozen=True)
class BandageRule:
    """A rule; `check` names what of a build it bounds, `told` where an owner reads it.

    `told` are blocks of the handout or follow-up rules; `over` the structures it is about.
    """

    id: str
    text: str
    check: str
    least: float | None
    most: float | None
    told: tuple[str, ...]
    over: tuple[str, ...]
    source: str


@dataclass(frozen=True)
class Stuff:
    """A material as it is bought; `match` are parts of a layer's text that mean it.

    `way` "wound" is reckoned in turns, "laid" in layers `layer_cm` thick, "piece" is one a change.
    """

    item: str
    unit: str
    match: tuple[str, ...]
    way: str
    width_cm: float
    length_cm: float
    passes: float
    layer_cm: float
    source: str

    def means(self, material: str) -> bool:
        """Whether a layer's text means this material."""
        return any(part in material.casefold() for part in self.match)


@dataclass(frozen=True)
class Roll:
    """The usual roll, overlap and padding."""

    width_cm: float
    length_m: float
    overlap_percent: float
    padding_cm: float
    source: str


@dataclass(frozen=True)
class Bandages:
    """All bandage tables."""

    layers: tuple[BuildLayer, ...]
    kinds: tuple[BandageKind, ...]
    rules: tuple[BandageRule, ...]
    stuff: tuple[Stuff, ...]
    roll: Roll
    lower: LowerWrap
    directions: tuple[tuple[str, str], ...]

    def kind(self, name: str) -> BandageKind:
        """Give a kind by its name; UnknownNameError lists the kinds."""
        for kind in self.kinds:
            if kind.id == name:
                return kind
        names = tuple(k.id for k in self.kinds)
        raise UnknownNameError("bandage", f"'{name}' is not one of {', '.join(names)}", names)


def _layer(row: Row) -> BuildLayer:
    return BuildLayer(
        role=row.text("role"),
        material=row.text("material"),
        purpose=row.text("purpose"),
        rule=row.text("rule"),
        thickness_cm=row.number_or_none("thickness_cm", least=0.1),
        on=row.texts("on"),
        source=row.source(),
    )


def _supply(row: Row, value: Any) -> Supply:  # noqa: ANN401  (any TOML value)
    if not isinstance(value, list) or len(value) != 3:
        raise row.error("supplies", "[material, count, unit] is needed")
    named = dict(zip(("what", "count", "unit"), value, strict=True))
    inner = Row(row.file, f"{row.name}, supplies", named)
    return inner.text("what"), inner.number("count", least=0.1), inner.text("unit")


def _kind(row: Row) -> BandageKind:
    supplies = row.data.get("supplies")
    if not isinstance(supplies, list):
        raise row.error("supplies", "a list is needed")
    return BandageKind(
        id=row.text("id"),
        height_cm=row.number("height_cm", least=1),
        low=row.text("low"),
        high=row.text("high"),
        lower_wrap=row.flag("lower_wrap"),
        notes=row.texts("notes"),
        supplies=tuple(_supply(row, s) for s in supplies),
        supplies_source=row.source("supplies_source"),
        source=row.source(),
        airway=row.flag("airway", default=False),
        below=row.text("below", ""),
    )


def _rule(row: Row) -> BandageRule:
    return BandageRule(
        id=row.text("id"),
        text=row.text("text"),
        check=row.text("check", ""),
        least=row.number_or_none("least"),
        most=row.number_or_none("most"),
        told=row.texts("told", ()),
        over=row.texts("over", ()),
        source=row.source(),
    )


def _stuff(row: Row) -> Stuff:
    way = row.text("way")
    if way not in WAYS:
        raise row.error("way", f"one of {', '.join(WAYS)} is needed")
    sized = 1.0 if way != "piece" else 0.0
    return Stuff(
        item=row.text("item"),
        unit=row.text("unit"),
        match=tuple(m.casefold() for m in row.texts("match")),
        way=way,
        width_cm=row.number("width_cm", 0.0, least=sized),
        length_cm=row.number("length_cm", 0.0, least=sized),
        passes=row.number("passes", 1.0, least=1, most=20),
        layer_cm=row.number("layer_cm", 1.0, least=0.1),
        source=row.source(),
    )


def _lower(row: Row) -> LowerWrap:
    return LowerWrap(row.text("kind"), row.texts("roles"), row.texts("said"), row.source())


def _roll(row: Row) -> Roll:
    return Roll(
        width_cm=row.number("width_cm", least=1),
        length_m=row.number("length_m", least=0.1),
        overlap_percent=row.number("overlap_percent", least=0, most=90),
        padding_cm=row.number("padding_cm", least=0),
        source=row.source(),
    )


def load_bandages(table: Table | None = None) -> Bandages:
    """Read the bandage tables."""
    read = table or shipped_table("bandages.toml")
    return Bandages(
        layers=tuple(_layer(r) for r in read.rows("layer")),
        kinds=tuple(_kind(r) for r in read.rows("kind")),
        rules=tuple(_rule(r) for r in read.rows("rule")),
        stuff=tuple(_stuff(r) for r in read.rows("material")),
        roll=_roll(read.rows("roll")[0]),
        lower=_lower(read.rows("lower")[0]),
        directions=tuple((r.text("side"), r.text("turns")) for r in read.rows("direction")),
    )
