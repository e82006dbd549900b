"""The bandage from the skin outward, what of it matters now, and the material it takes."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldnotes.clinical.dressing import choose_dressing
from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    from fieldnotes.clinical.dressing import WoundState
    from fieldnotes.knowledge.bandages import BandageKind, BandageRule, Bandages, Supply
    from fieldnotes.knowledge.dressings import DressingRow
    from fieldnotes.knowledge.regions import RegionClass

_EXACT = 1e-9
KGF_PER_CM2_TIMES = 4630  # Laplace with kgf and cm in, mmHg out (from memory; for teaching)


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


def default_build(
    tables: Bandages,
    dressings: tuple[DressingRow, ...],
    region: RegionClass,
    state: WoundState,
) -> Build:
    """Give a region's build with the dressing its wound's state asks for."""
    build = build_of(tables, kind_for(region))
    chosen = choose_dressing(dressings, state)
    layers = tuple(
        replace(x, material=chosen.first, purpose=chosen.reason, source=chosen.source)
        if x.role == "dressing"
        else x
        for x in build.layers
    )
    return replace(build, layers=layers)


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


def supplies(tables: Bandages, kind: str, changes: int) -> tuple[Supply, ...]:
    """Give (material, count, unit) for so many changes, whole pieces."""
    if changes < 0:
        raise RefusedInputError("changes", f"{changes} changes cannot be")
    each = tables.kind(kind).supplies
    return tuple((what, math.ceil(count * changes), unit) for what, count, unit in each)


def pressure_mmhg(tension_kgf: float, layers: float, girth_cm: float, width_cm: float) -> float:
    """Give the sub-bandage pressure by Laplace, for teaching: narrow or thin means more."""
    _positive("girth-cm", girth_cm, 300)
    _positive("width-cm", width_cm, 50)
    return tension_kgf * layers * KGF_PER_CM2_TIMES / (girth_cm * width_cm)
