"""The bandage from the skin outward, what of it matters now, and the material it takes."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.treatment import Bandage, Layer
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.knowledge.source import COMMON_PRACTICE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.knowledge.bandages import BandageKind, BandageRule, Bandages, Stuff
    from fieldnotes.knowledge.regions import RegionClass

_EXACT = 1e-9
_UNKNOWN_HEIGHT_CM = 35.0  # a bandage of a kind the tables do not know: as the distal limb's


@dataclass(frozen=True)
class BuiltLayer:
    """One layer of a build and why it is there."""

    role: str
    material: str
    purpose: str
    rule: str
    thickness_cm: float | None
    source: str


@dataclass(frozen=True)
class Build:
    """A bandage of one kind, its layers from the skin outward."""

    kind: str
    layers: tuple[BuiltLayer, ...]
    notes: tuple[str, ...]
    source: str


@dataclass(frozen=True)
class Entered:
    """A build as the vet enters it; None = not entered yet, and then not checked."""

    kind: str
    padding_cm: float | None = None
    padding_layers: int | None = None
    overlap_percent: float | None = None
    edge_gap_cm: float | None = None
    roll_cm: float | None = None
    first_is_elastic: bool | None = None
    lower_wrap: bool | None = None
    occlusive: bool | None = None
    tight_elastic: bool | None = None
    structures: tuple[str, ...] = ()
    granulating: bool = False
    on_limb: bool = True


@dataclass(frozen=True)
class Material:
    """Turns (area form, unrounded, one pass), length over all passes and whole rolls."""

    turns: float
    coverage_turns: int
    effective_girth_cm: float
    length_cm: float
    rolls: int


def kind_for(region: RegionClass) -> str:
    """Give the bandage kind a region usually takes; refused where it is left open."""
    if not region.bandages:
        raise RefusedInputError("region", f"{region.standard_name} is not bandaged")
    return region.bandages[0]


def build_of(tables: Bandages, kind: str) -> Build:
    """Give the default build of a kind, from the skin outward."""
    row = tables.kind(kind)
    layers = tuple(
        BuiltLayer(x.role, x.material, x.purpose, x.rule, x.thickness_cm, x.source)
        for x in tables.layers
        if kind in x.on
    )
    return Build(kind, layers, row.notes, row.source)


def _outside(rule: BandageRule, value: float | None) -> bool:
    if value is None:
        return False
    low = rule.least is not None and value < rule.least - _EXACT
    return low or (rule.most is not None and value > rule.most + _EXACT)


def _breaks(rule: BandageRule, entered: Entered, kind: BandageKind) -> bool:
    if rule.check == "elastic_on_skin":
        return entered.first_is_elastic is True
    if rule.check == "lower_wrap":
        return kind.lower_wrap and entered.lower_wrap is False
    if rule.check == "occlusive":
        return entered.occlusive is True and entered.granulating and entered.on_limb
    if rule.check == "airway":
        return kind.airway and entered.tight_elastic is True
    if rule.check == "over":
        return kind.airway and bool(set(rule.over) & set(entered.structures))
    if not rule.check:
        return False
    if rule.check == "edge_gap_cm" and entered.edge_gap_cm is not None:
        return entered.edge_gap_cm < 0 or _outside(rule, entered.edge_gap_cm)
    return _outside(rule, getattr(entered, rule.check))


def check_build(tables: Bandages, entered: Entered) -> tuple[BandageRule, ...]:
    """Give only the rules the build as entered breaks; nothing about what is not entered yet."""
    kind = tables.kind(entered.kind)
    return tuple(rule for rule in tables.rules if _breaks(rule, entered, kind))


def direction(tables: Bandages, side: str | None) -> str | None:
    """Give which way the turns go seen from above, None without a side."""
    return dict(tables.directions).get(side or "")


def _positive(field: str, value: float, most: float) -> None:
    if not math.isfinite(value) or not 0 < value <= most:
        raise RefusedInputError(field, f"{value:g} must be above 0 and at most {most:g}")


def _check_material(
    girth_cm: float, height_cm: float, padding_cm: float, roll_cm: float, roll_m: float
) -> None:
    _positive("girth-cm", girth_cm, 300)
    _positive("height-cm", height_cm, 200)
    _positive("roll-cm", roll_cm, 50)
    _positive("roll-m", roll_m, 100)
    if not math.isfinite(padding_cm) or not 0 <= padding_cm <= 20:
        raise RefusedInputError("padding-cm", f"{padding_cm:g} is not within 0 to 20")


def material(
    girth_cm: float,
    height_cm: float,
    *,
    padding_cm: float,
    roll_cm: float,
    roll_m: float,
    overlap_percent: float,
    passes: float = 1,
) -> Material:
    """Reckon turns, length and rolls.

    effective girth = girth + 2 pi padding; turns = height / (width x (1 - overlap));
    length = passes x turns x effective girth. Stated roll length is usually stretched length.
    """
    _check_material(girth_cm, height_cm, padding_cm, roll_cm, roll_m)
    _positive("passes", passes, 20)
    if not math.isfinite(overlap_percent) or not 0 <= overlap_percent <= 90:
        raise RefusedInputError("overlap-percent", f"{overlap_percent:g} is not within 0 to 90")
    step_cm = roll_cm * (1 - overlap_percent / 100)
    turns = height_cm / step_cm
    girth = girth_cm + 2 * math.pi * padding_cm
    length = passes * turns * girth
    return Material(
        turns=turns,
        coverage_turns=max(1, math.ceil(1 + (height_cm - roll_cm) / step_cm - _EXACT)),
        effective_girth_cm=girth,
        length_cm=length,
        rolls=math.ceil(length / (roll_m * 100) - _EXACT),
    )


@dataclass(frozen=True)
class Extent:
    """The limb under a bandage: girth without padding (None: unknown), where it is from, height."""

    girth_cm: float | None
    girth_from: str
    height_cm: float


@dataclass(frozen=True)
class Need:
    """So much of one material, in whole units unless a unit is cut; `metres` where it is wound.

    `part` is "lower wrap" for what goes below the bandage itself.
    """

    item: str
    count: float
    unit: str
    metres: float | None
    working: str
    source: str
    part: str = ""

    @property
    def said(self) -> str:
        """How much of what, and for which part of the bandage."""
        return f"{self.count:g} {self.unit} {self.item}" + (f" ({self.part})" if self.part else "")


def extent(
    tables: Bandages,
    kind: str,
    region: RegionClass | None,
    girth_cm: float | None = None,
    height_cm: float | None = None,
) -> Extent:
    """Give girth and height as measured, else the region's middle girth and the kind's height."""
    heights = {k.id: k.height_cm for k in tables.kinds}
    height = height_cm if height_cm is not None else heights.get(kind, _UNKNOWN_HEIGHT_CM)
    low, high = (region.girth_cm if region else None) or (None, None)
    middle = None if low is None or high is None else (low + high) / 2
    if girth_cm is not None and girth_cm != middle:
        return Extent(girth_cm, "measured", height)
    if region is None or middle is None:
        return Extent(None, "unknown", height)
    said = f"usual {low:g}-{high:g} cm, {region.girth_source}"
    return Extent(middle, said, height)


def needs(
    tables: Bandages, bandage: Bandage, region: RegionClass | None, changes: int = 1
) -> tuple[Need, ...]:
    """Give what so many changes of a bandage take, by material.

    What is wound or laid is reckoned from girth, height and padding, never less than the kind's
    usual count; a bandage without layers is taken as its kind's own. A lower wrap that the kind
    stands on is counted besides.
    """
    if changes < 0:
        raise RefusedInputError("changes", f"{changes} changes cannot be")
    around = extent(tables, bandage.kind, region, bandage.girth_cm, bandage.height_cm)
    found: dict[tuple[str, str, str], Need] = {}
    for need in (*_one_change(tables, bandage, around), *_lower_wrap(tables, bandage.kind)):
        found.setdefault((need.item, need.unit, need.part), need)
    return tuple(_times(need, changes) for need in found.values() if changes)


def _times(need: Need, changes: int) -> Need:
    metres = None if need.metres is None else need.metres * changes
    return replace(need, count=math.ceil(need.count * changes - _EXACT), metres=metres)


def _lower_wrap(tables: Bandages, kind: str) -> Iterator[Need]:
    """Give what the wrap below a bandage takes, by the usual girth there."""
    place = next((k.below for k in tables.kinds if k.id == kind and k.lower_wrap), None)
    if place is None:
        return
    lower = tables.lower
    layers = (x for x in build_of(tables, lower.kind).layers if x.role in lower.roles)
    worn = Bandage(lower.kind, tuple(Layer(x.role, x.material, x.thickness_cm) for x in layers))
    region = next(iter(load_regions().classes_matching(place)), None)
    for need in _one_change(tables, worn, extent(tables, lower.kind, region)):
        yield replace(need, part="lower wrap", working=f"lower wrap: {need.working}")


def _one_change(tables: Bandages, bandage: Bandage, around: Extent) -> Iterator[Need]:
    kind = next((k for k in tables.kinds if k.id == bandage.kind), None)
    usual = {(what, unit): count for what, count, unit in kind.supplies} if kind else {}
    texts = [layer.material for layer in bandage.layers] or [what for what, _ in usual]
    texts = [t for t in texts if not any(word in t.casefold() for word in tables.lower.said)]
    padding = _padding_cm(tables, bandage)
    for text in texts:
        fitting = [s for s in tables.stuff if s.means(text)]
        stuff = next((s for s in fitting if (s.item, s.unit) in usual), None)
        stuff = stuff or next(iter(fitting), None)
        if stuff is None:
            yield Need(text, 1, "piece", None, "one a change", COMMON_PRACTICE)
            continue
        source = kind.supplies_source if kind and (stuff.item, stuff.unit) in usual else ""
        least = usual.get((stuff.item, stuff.unit), 1.0)
        yield _reckoned(stuff, around, padding, tables.roll.overlap_percent, least, source)


def _padding_cm(tables: Bandages, bandage: Bandage) -> float:
    """Give how thick the padding is: as recorded, else as the kind's build has it."""
    recorded = (x.thickness_cm for x in bandage.layers if x.role == "padding")
    built = (x.thickness_cm for x in tables.layers if x.role == "padding" and bandage.kind in x.on)
    return next((cm for cm in (*recorded, *built) if cm is not None), tables.roll.padding_cm)


def _reckoned(  # noqa: PLR0917  (it takes these figures)
    stuff: Stuff, around: Extent, padding: float, overlap: float, least: float, source: str
) -> Need:
    usual = f"usual count {least:g}"
    if stuff.way == "piece" or around.girth_cm is None:
        working = usual if stuff.way == "piece" else f"{usual}: girth {around.girth_from}"
        return Need(stuff.item, least, stuff.unit, None, working, source or stuff.source)
    girth = around.girth_cm
    if stuff.way == "wound":
        took = material(
            girth, around.height_cm, padding_cm=padding, roll_cm=stuff.width_cm,
            roll_m=stuff.length_cm / 100, overlap_percent=overlap, passes=stuff.passes,
        )  # fmt: skip
        count, metres = float(took.rolls), took.length_cm / 100
        working = (
            f"{stuff.passes:g} x {took.turns:.1f} turns of {took.effective_girth_cm:.1f} cm"
            f" = {metres:.1f} m"
        )
    else:
        metres = None
        layers = math.ceil(padding / stuff.layer_cm - _EXACT)
        area = layers * around.height_cm * (girth + math.pi * padding)
        count = math.ceil(2 * area / (stuff.width_cm * stuff.length_cm) - _EXACT) / 2
        working = f"{layers} layers of {around.height_cm:g} x {girth + math.pi * padding:.1f} cm"
    told = f"{working}; girth {girth:g} cm, {around.girth_from}" + (
        f"; {usual}" if least > count else ""
    )
    return Need(stuff.item, max(count, least), stuff.unit, metres, told, stuff.source)
