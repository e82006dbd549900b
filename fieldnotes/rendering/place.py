"""What lies at a place on the body map, in lines of text: names, facts, distances, cautions."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from fieldnotes.knowledge.regions import load_regions

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldnotes.clinical.synovial import Nearby, SynovialRisk
    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.knowledge.regions import Region

LEAST_TOLD_CM = 0.1


def measured_words(view: View) -> str:
    """Say what the distances in a view are worth."""
    return (
        f"seen from {view.seen_from}, depth not counted; outlines approximate, skin moves:"
        " never excludes entry"
    )


def no_outline_words(view: View, region: Region) -> str:
    """Say why no joint, sheath or bursa is near: there is none, or this view outlines none."""
    if view.is_far(region.id):
        return "not outlined on a limb seen behind: turn to its own side"
    return f"no joint, sheath or bursa outlined {'near' if view.pouches else 'in this view'}"


def distance_words(near: Nearby) -> str:
    """Say how far a structure lies from the wound, such as "fetlock joint 1.2 cm away"."""
    if near.distance_cm == 0:
        return f"{near.name} beneath"
    if near.distance_cm < LEAST_TOLD_CM:
        return f"{near.name} less than {LEAST_TOLD_CM:g} cm away"
    return f"{near.name} {near.distance_cm:.1f} cm away"


def synovial_near(risk: SynovialRisk) -> tuple[Nearby, ...]:
    """Give the joints, sheaths and bursae beneath or near, nearest first, each name once."""
    found = {n.name: n for n in (*risk.near, *risk.beneath)[::-1] if n.structure.synovial}
    return tuple(sorted(found.values(), key=lambda n: n.distance_cm))


def region_facts(region: Region) -> tuple[str, ...]:
    """Give what the table says of a region: motion, proud flesh, bone, girth, bandages."""
    cls = region.cls
    girth = f"girth {cls.girth_cm[0]:g}-{cls.girth_cm[1]:g} cm" if cls.girth_cm else ""
    facts = (
        "high motion" if cls.high_motion else "little motion",
        "prone to proud flesh" if cls.proud_flesh == "prone" else "seldom proud flesh",
        "sequestrum risk" if cls.sequestrum_risk else "",
        f"closing tension {cls.closing_tension}",
        girth,
        f"bandage: {', '.join(cls.bandages)}" if cls.bandages else "",
        cls.note,
    )
    return tuple(fact for fact in facts if fact)


def beneath_by_kind(region: Region) -> tuple[str, ...]:
    """Give what lies beneath a region by kind, such as "joint: carpal joints"."""
    kinds = groupby(sorted(region.cls.structures, key=lambda s: s.kind), lambda s: s.kind)
    found = {kind: ", ".join(s.name for s in group) for kind, group in kinds}
    order = ("joint", "sheath", "bursa", "tendon", "ligament", "muscle", "nerve", "vessel")
    return tuple(f"{kind}: {found[kind]}" for kind in (*order, "bone", "organ") if kind in found)


def spanned_words(regions: Iterable[str]) -> str:
    """Name the regions a wound reaches where it is more than one; else nothing."""
    names = [load_regions().get(i).standard_name for i in regions]
    return f"spans {len(names)} regions: {', '.join(names)}" if len(names) > 1 else ""


def numbered(risk: SynovialRisk, most: int = 9) -> tuple[str, ...]:
    """Give the near synovial structures, numbered as the map tags them."""
    return tuple(f"{n} {distance_words(s)}" for n, s in enumerate(synovial_near(risk)[:most], 1))
