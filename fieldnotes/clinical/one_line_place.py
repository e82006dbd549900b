"""Where on the horse a one-line note means: side, limb, part and face narrow it together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldnotes.knowledge.regions import RegionClass, Regions
    from fieldnotes.knowledge.shorthand import PlaceTerm

FACES = frozenset(
    {"dorsal", "cranial", "palmar", "plantar", "caudal", "lateral", "medial", "upper", "lower"}
)


@dataclass(frozen=True)
class Place:
    """The regions the words may mean: one if they say it all; `ignored` terms narrowed nothing."""

    regions: tuple[str, ...]
    ignored: tuple[PlaceTerm, ...] = ()


def _faces(cls: RegionClass) -> frozenset[str]:
    named = cls.id.rpartition(".")[2].split("_")
    return FACES & {*named, *((cls.aspect,) if cls.aspect else ())}


def _belongs(cls: RegionClass, term: PlaceTerm) -> bool:
    return any(
        cls.id == part or (not term.exact and cls.id.startswith(f"{part}.")) for part in term.parts
    )


def _whole(classes: list[RegionClass], terms: list[PlaceTerm]) -> list[RegionClass]:
    """Give the class that is named as a whole, where its parts have classes of their own."""
    named = {part for term in terms for part in term.parts}
    own = [c for c in classes if c.id in named]
    return own if own and len(own) < len(classes) else classes


def find_place(terms: list[PlaceTerm], regions: Regions) -> Place | None:
    """Give the regions all the terms allow; None if they name no part of the body."""
    parts = [t for t in terms if t.parts]
    if not parts:
        return None
    classes = [c for c in regions.classes if all(_belongs(c, t) for t in parts)]
    limbs = {t.limb for t in terms if t.limb}
    if limbs:
        classes = [c for c in classes if c.limb is None or {c.limb} == limbs]
    alone = len(_whole(classes, parts)) == 1
    ignored: list[PlaceTerm] = []
    for term in (t for t in terms if t.aspects):
        facing = [c for c in classes if _faces(c) & set(term.aspects)]
        if facing:
            classes = facing
        elif alone:
            ignored.append(term)
        else:
            classes = []
    classes = _whole(classes, parts)
    sides = {t.side for t in terms if t.side}
    found = [
        region.id
        for region in regions.all
        if region.cls in classes and (region.side is None or not sides or region.side in sides)
    ]
    return Place(tuple(found), tuple(ignored))
