"""Which joints, sheaths and bursae a wound may have opened, how near they lie, what to do.

The outlines are approximate and the skin moves over them: a wound may lie away from the cavity in
the standing horse and over it when flexed (Smith, Synovial wounds, 2013). Distances alarm, they
never clear.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.knowledge.bodymap import load_view, shape_at
from fieldnotes.knowledge.polygons import ellipse, gap, overlapping
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.knowledge.source import Table, shipped_table

if TYPE_CHECKING:
    from fieldnotes.knowledge.bodymap import Shape, View
    from fieldnotes.knowledge.disputes import Option
    from fieldnotes.knowledge.polygons import Ring
    from fieldnotes.knowledge.regions import RegionClass, Structure
    from fieldnotes.knowledge.source import Row

FILE = "synovial_cautions.toml"
LARGEST_MM = 1500.0
NEAR = "structure beneath or near"
NOT_EXCLUDED = "entry not excluded"
ANTISEPTIC = "no_chlorhexidine"


@dataclass(frozen=True)
class Probe:
    """A wound on a view of the map; `penetrating` None means it was not examined."""

    view: str
    x_cm: float
    y_cm: float
    length_mm: float
    width_mm: float
    angle_deg: float = 0.0
    depth_mm: float | None = None
    penetrating: bool | None = None

    @property
    def ring(self) -> Ring:
        """Give the wound's edge in centimetres of the view."""
        length, width = self.length_mm / 10, self.width_mm / 10
        return ellipse(self.x_cm, self.y_cm, length, width, self.angle_deg)


@dataclass(frozen=True)
class Nearby:
    """A structure and its least distance from the wound in cm; 0 means beneath it.

    `ring` is its outline in the view measured in, empty where none was.
    """

    structure: Structure
    name: str
    distance_cm: float
    ring: Ring = ()


@dataclass(frozen=True)
class Caution:
    """Something to tell the vet, how soon it presses, and who says so."""

    id: str
    urgency: str
    text: str
    source: str
    brief: str = ""


@dataclass(frozen=True)
class SynovialRisk:
    """What lies beneath and near a wound, and the cautions; never a clearance."""

    regions: tuple[str, ...]
    beneath: tuple[Nearby, ...]
    near: tuple[Nearby, ...]
    cautions: tuple[Caution, ...]
    entry_not_excluded: bool


@dataclass(frozen=True)
class CautionRule:
    """When a caution speaks: the regions' rows or ids, penetration, and depth in mm."""

    caution: Caution
    rows: tuple[str, ...]
    needs_penetration: bool
    depth_from_mm: float
    when: str = ""

    def fits(self, cls: RegionClass, depth_mm: float | None, penetrating: bool | None) -> bool:
        """Say whether the rule speaks; an unexamined wound counts as penetrating."""
        named = cls.row in self.rows or _as_fore(cls) in self.rows
        if not named or (self.needs_penetration and penetrating is False):
            return False
        return not self.depth_from_mm or (depth_mm or 0) >= self.depth_from_mm


def _as_fore(cls: RegionClass) -> str:
    """Give the fore limb's row for a hind foot region, which the table lists together."""
    fore = cls.id.replace("hind.", "fore.", 1)
    return next((c.row for c in load_regions().classes if c.id == fore), cls.row)


@dataclass(frozen=True)
class CautionTable:
    """The cautions' rules, and how near a structure counts as near."""

    within_cm: float
    rules: tuple[CautionRule, ...]


def _rule(row: Row) -> CautionRule:
    caution = Caution(
        row.text("id"), row.text("urgency"), row.text("text"), row.source(), row.text("brief", "")
    )
    depth = row.number("depth_from_mm", 0.0, least=0)
    needs = row.flag("needs_penetration")
    return CautionRule(caution, row.texts("rows"), needs, depth, row.text("when", ""))


@cache
def _shipped_cautions() -> CautionTable:
    return load_cautions(shipped_table(FILE))


def load_cautions(table: Table | None = None) -> CautionTable:
    """Give the cautions' rules, the shipped ones unless a table is given."""
    if table is None:
        return _shipped_cautions()
    head = table.rows("settings")[0]
    head.source()
    within = head.number("within_cm", least=0, most=30)
    return CautionTable(within, tuple(_rule(r) for r in table.rows("caution")))


def _refuse(probe: Probe) -> None:
    for field, value in (("length_mm", probe.length_mm), ("width_mm", probe.width_mm)):
        if not 0 < value <= LARGEST_MM:
            raise RefusedInputError(field, f"{value:g} mm is not within 0 to {LARGEST_MM:g}")
    if probe.depth_mm is not None and not 0 <= probe.depth_mm <= LARGEST_MM:
        raise RefusedInputError("depth_mm", f"{probe.depth_mm:g} mm cannot be right")


def distances(view: View, ring: Ring, most_cm: float = math.inf) -> tuple[Nearby, ...]:
    """Give every outlined structure with its distance from a ring, nearest first.

    What lies wholly farther off than `most_cm` is not measured and may be left out.
    """
    known = load_regions().structures
    near = (b for b in view.structures if _box_gap(b.ring, ring) <= most_cm)
    found = [Nearby(known[b.structure_id], b.name, gap(b.ring, ring), b.ring) for b in near]
    return tuple(sorted(found, key=lambda n: n.distance_cm))


def _box_gap(one: Ring, other: Ring) -> float:
    """Give how far apart two rings are at least: the wider of the gaps along the axes."""
    apart = [0.0]
    for axis in (0, 1):
        first, second = [p[axis] for p in one], [p[axis] for p in other]
        apart += [min(first) - max(second), min(second) - max(first)]
    return max(apart)


def _shape(view: View, probe: Probe) -> Shape:
    at = shape_at(view, probe.x_cm, probe.y_cm)
    if at is None:
        raise RefusedInputError("point", "the point lies beside the body")
    return at


def _regions(view: View, at: Shape, ring: Ring) -> tuple[str, ...]:
    """Give the regions reached, on the near body or on the limbs behind as the point is."""
    rest = (s.region_id for s in view.shapes if s.far == at.far and overlapping(s.ring, ring))
    return tuple(dict.fromkeys((at.region_id, *rest)))


def risk_at(probe: Probe, table: CautionTable | None = None) -> SynovialRisk:
    """Reckon a wound at a point; RefusedInputError for a point beside the body or a bad size.

    On a limb behind the near one nothing is measured: the outlines are those of the near body.
    """
    table = table or load_cautions()
    _refuse(probe)
    view = load_view(probe.view)
    at = _shape(view, probe)
    regions = _regions(view, at, probe.ring)
    measured = () if at.far else distances(view, probe.ring, table.within_cm)
    beneath = tuple(n for n in measured if n.distance_cm == 0)
    near = tuple(n for n in measured if 0 < n.distance_cm <= table.within_cm)
    classes = tuple(load_regions().get(r).cls for r in regions)
    hits = tuple(n for n in (*beneath, *near) if n.structure.synovial)
    return _judged(regions, classes, beneath, near, hits, probe.depth_mm, probe.penetrating, table)


def risk_of_region(
    region: str,
    *,
    depth_mm: float | None = None,
    penetrating: bool | None = None,
    table: CautionTable | None = None,
) -> SynovialRisk:
    """Reckon by region alone (an id or a class id): everything its table row names is beneath."""
    classes = load_regions().classes_matching(region)[:1]
    if not classes:
        raise RefusedInputError("region", f"no region fits {region!r}")
    beneath = tuple(Nearby(s, s.name, 0.0) for s in classes[0].structures)
    hits = tuple(n for n in beneath if n.structure.synovial)
    table = table or load_cautions()
    return _judged((region,), classes, beneath, (), hits, depth_mm, penetrating, table)


def _judged(  # noqa: PLR0917  (the parts of one judgement, private to this room)
    regions: tuple[str, ...],
    classes: tuple[RegionClass, ...],
    beneath: tuple[Nearby, ...],
    near: tuple[Nearby, ...],
    hits: tuple[Nearby, ...],
    depth_mm: float | None,
    penetrating: bool | None,
    table: CautionTable,
) -> SynovialRisk:
    possible = penetrating is not False and (bool(hits) or any(c.synovial for c in classes))
    spoken = [
        r.caution for r in table.rules if any(r.fits(c, depth_mm, penetrating) for c in classes)
    ]
    if hits and penetrating is not False:
        spoken += [_entry(r.caution, hits) for r in table.rules if r.when == NEAR]
    if possible:
        spoken += [r.caution for r in table.rules if r.when == NOT_EXCLUDED]
    return SynovialRisk(regions, beneath, near, tuple(spoken), possible)


def _entry(caution: Caution, hits: tuple[Nearby, ...]) -> Caution:
    """Name each structure at risk with its distance; the outlines are approximate."""
    names = ", ".join(f"{n.name} ({_how_far(n.distance_cm)})" for n in hits)
    return replace(caution, text=caution.text.replace("{structures}", names))


def _how_far(distance_cm: float) -> str:
    return "beneath" if distance_cm == 0 else f"about {max(distance_cm, 0.1):.1f} cm away"


def as_settled(risk: SynovialRisk, chosen: Option) -> SynovialRisk:
    """Give a risk whose caution of chlorhexidine says what the practice settled."""
    if chosen.most_percent is None:
        return risk
    said = {
        "text": "Entry into a synovial structure is not excluded: "
        f"{chosen.words}. Settled so by the practice.",
        "source": chosen.source,
        "brief": f"{NOT_EXCLUDED}: chlorhexidine {chosen.most_percent:g} % at most; "
        "consider early referral",
    }
    cautions = (replace(c, **said) if c.id == ANTISEPTIC else c for c in risk.cautions)
    return replace(risk, cautions=tuple(cautions))
