"""The body map: views of the horse with every region as a shape, in centimetres, y upwards.

The drawings are our own, from proportions and landmarks, from memory; x grows towards the right
of the picture. One drawing serves left and right, outside and inside: the others are its mirror.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, cached_property
from math import dist
from typing import TYPE_CHECKING, Final

from fieldnotes.domain.errors import KnowledgeError, UnknownNameError
from fieldnotes.knowledge.polygons import Point, Ring, area, inside, middle
from fieldnotes.knowledge.regions import load_regions, parse_json_table
from fieldnotes.knowledge.source import Row, Table, shipped_text

if TYPE_CHECKING:
    from fieldnotes.domain.wounds import Wound
    from fieldnotes.knowledge.regions import Side

WHOLE_VIEWS: Final = ("left", "right", "front", "back", "head-left", "head-right")
CLOSE_UPS: Final = tuple(
    f"{limb}-{aspect}"
    for limb, back in (("fore", "palmar"), ("hind", "plantar"))
    for aspect in ("lateral", "medial", "dorsal", back, "sole")
)
VIEW_IDS: Final = WHOLE_VIEWS + CLOSE_UPS
VIEW_KEYS: Final = WHOLE_VIEWS + tuple(f"{s}.{v}" for s in ("left", "right") for v in CLOSE_UPS)

_ON_THE_SIDE: Final = {"left", "right", "fore-lateral", "hind-lateral"}
_SEEN_FROM: Final = {
    "front": "in front",
    "dorsal": "in front",
    "back": "behind",
    "palmar": "behind",
    "plantar": "behind",
    "lateral": "the outside",
    "medial": "the inside",
    "sole": "below",
    "left": "the left",
    "right": "the right",
}
ROUNDED_CM: Final = 0.02  # a form keeps points to 0.01 cm


@dataclass(frozen=True)
class Shape:
    """One piece of a region as this view shows it; `far` pieces belong to the limbs behind.

    What lies `behind` is part of the near body but farther from the viewer, and drawn darker.
    """

    region_id: str
    ring: Ring
    far: bool = False
    behind: bool = False


@dataclass(frozen=True)
class Detail:
    """Decoration: an eye, a fold, hair; kind fill, white, line, strand, hair or horn."""

    name: str
    kind: str
    points: Ring


@dataclass(frozen=True)
class Beneath:
    """The approximate outline of a structure under the skin."""

    structure_id: str
    name: str
    ring: Ring


@dataclass(frozen=True)
class View:
    """One picture of the horse; `key` tells the limb's side as well, as in "left.fore-lateral"."""

    id: str
    side: Side | None
    title: str
    outline: Ring
    far_outlines: tuple[Ring, ...]
    shapes: tuple[Shape, ...]
    details: tuple[Detail, ...]
    structures: tuple[Beneath, ...]
    source: str

    @property
    def key(self) -> str:
        """Give the name a record stores."""
        return f"{self.side}.{self.id}" if self.is_close_up else self.id

    @property
    def is_close_up(self) -> bool:
        """Say whether it shows one limb only."""
        return self.id in CLOSE_UPS

    @property
    def is_tall(self) -> bool:
        """Say whether it shows a limb from carpus or hock down, far longer than wide."""
        return self.is_close_up and not self.id.endswith("-sole")

    @property
    def seen_from(self) -> str:
        """Say from where one looks, such as "in front" or "the outside"."""
        return _SEEN_FROM[self.id.rpartition("-")[2]]

    @cached_property
    def region_ids(self) -> tuple[str, ...]:
        """Give the regions shown, each once, nearest the viewer last."""
        return tuple(dict.fromkeys(s.region_id for s in self.shapes))

    @property
    def pouches(self) -> tuple[Beneath, ...]:
        """Give the outlines of joints, tendon sheaths and bursae, all approximate."""
        known = load_regions().structures
        return tuple(b for b in self.structures if known[b.structure_id].synovial)

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Give left, bottom, right and top of everything drawn."""
        rings = [s.ring for s in self.shapes] + [d.points for d in self.details]
        points = [p for ring in rings for p in ring]
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        return min(xs), min(ys), max(xs), max(ys)

    def is_far(self, region_id: str) -> bool:
        """Say whether the view shows a region only on a limb behind the near one."""
        return all(s.far for s in self.shapes if s.region_id == region_id)

    def rings(self, region_id: str) -> tuple[Ring, ...]:
        """Give the pieces of a region, largest first; none if the view lacks it."""
        found = [s.ring for s in self.shapes if s.region_id == region_id]
        return tuple(sorted(found, key=area, reverse=True))


def _ring(row: Row, field: str, least: int = 3) -> Ring:
    points = row.data.get(field)
    if not isinstance(points, list) or len(points) < least:
        raise row.error(field, f"a list of at least {least} points is needed")
    for point in points:
        numbers = isinstance(point, list) and all(isinstance(v, int | float) for v in point)
        if not numbers or len(point) != 2:
            raise row.error(field, "each point is [x, y] in centimetres")
    return tuple((float(x), float(y)) for x, y in points)


def _shape(row: Row, names: dict[str, str], prefix: str) -> Shape:
    region = row.text("region")
    region_id = prefix + names.get(region, region)
    if region_id not in load_regions():
        raise row.error("region", f"no region is called {region_id!r}")
    far, behind = row.flag("far", default=False), row.flag("behind", default=False)
    return Shape(region_id, _ring(row, "polygon"), far, behind)


def _beneath(row: Row) -> Beneath:
    return Beneath(row.text("structure"), row.text("name"), _ring(row, "polygon"))


def _detail(row: Row) -> Detail:
    return Detail(row.text("name"), row.text("kind"), _ring(row, "points", least=2))


def _optional(table: Table, name: str) -> tuple[Row, ...]:
    return table.rows(name) if name in table.data else ()


def _names(table: Table, *, medial: bool) -> dict[str, str]:
    names: dict[str, str] = table.data.get("medial", {}) if medial else {}
    return names


def read_view(table: Table, side: Side | None = None, *, medial: bool = False) -> View:
    """Read a drawing; for a limb its side, and `medial` for the inside seen through the same form.

    KnowledgeError names file, row and field.
    """
    head = Row(table.file, "view", table.data)
    prefix = f"{side}." if side else ""
    hidden = "lateral" if medial else "medial"
    names = _names(table, medial=medial)
    far = table.data.get("far_outlines", [])
    under = (r for r in _optional(table, "structures") if r.text("face", "") != hidden)
    return View(
        id=head.text("id"),
        side=side,
        title=head.text("title"),
        outline=_ring(head, "outline"),
        far_outlines=tuple(_ring(Row(table.file, "far", {"ring": r}), "ring") for r in far),
        shapes=tuple(_shape(r, names, prefix) for r in table.rows("shapes")),
        details=tuple(
            _detail(r) for r in _optional(table, "details") if r.text("face", "") != hidden
        ),
        structures=tuple(_beneath(r) for r in under),
        source=head.source(),
    )


def _table(file: str) -> Table:
    path = f"map/{file}.json"
    return parse_json_table(path, shipped_text(path))


def _flip(ring: Ring, scale: float = -1.0) -> Ring:
    return tuple((x * scale, y) for x, y in ring)


_SWAPPED: Final = {"left": "right", "right": "left"}


def _other_side(region_id: str) -> str:
    side, dot, rest = region_id.partition(".")
    return _SWAPPED[side] + dot + rest if side in _SWAPPED else region_id


def mirrored(view: View, scale: float = -1.0) -> View:
    """Give the view as a mirror shows it, without renaming anything."""
    return replace(
        view,
        outline=_flip(view.outline, scale),
        far_outlines=tuple(_flip(r, scale) for r in view.far_outlines),
        shapes=tuple(replace(s, ring=_flip(s.ring, scale)) for s in view.shapes),
        details=tuple(replace(d, points=_flip(d.points, scale)) for d in view.details),
        structures=tuple(replace(b, ring=_flip(b.ring, scale)) for b in view.structures),
    )


def _opposite(view: View, view_id: str) -> View:
    """Give the same picture of the horse's other side."""
    shapes = tuple(replace(s, region_id=_other_side(s.region_id)) for s in view.shapes)
    title = view.title.replace("left", "right").replace("Left", "Right")
    return mirrored(replace(view, id=view_id, title=title, shapes=shapes))


def _hind_sole(view: View) -> View:
    """Give the hind foot from below: the fore foot's form, narrower."""
    renamed = tuple(
        replace(s, region_id=s.region_id.replace(".fore.", ".hind.")) for s in view.shapes
    )
    return mirrored(replace(view, id="hind-sole", shapes=renamed), 0.9)


def _close_up(view_id: str, side: Side) -> View:
    limb, _, aspect = view_id.partition("-")
    if aspect == "sole":
        view = replace(read_view(_table("sole"), side), id="fore-sole")
        view = view if limb == "fore" else _hind_sole(view)
    elif aspect in ("lateral", "medial"):
        view = read_view(_table(f"{limb}-lateral"), side, medial=aspect == "medial")
    else:
        view = read_view(_table(view_id), side)
    title = view.title.replace("outside", "inside") if aspect == "medial" else view.title
    title = title.replace("fore foot", f"{limb} foot")
    view = replace(view, id=view_id, title=f"{side.title()} {title}")
    return mirrored(view) if (side == "right") != (aspect == "medial") else view


@cache
def _view(view_id: str, side: Side) -> View:
    if view_id in CLOSE_UPS:
        return _close_up(view_id, side)
    if view_id in ("right", "head-right"):
        return _opposite(_view(view_id.replace("right", "left"), side), view_id)
    return read_view(_table(view_id))


def load_view(view_id: str, side: Side = "left") -> View:
    """Give a view by id, or by the key a record stores; `side` chooses the limb of a close-up.

    "sole" is the fore foot's. UnknownNameError lists the views.
    """
    first, dot, rest = view_id.partition(".")
    if dot and first in _SWAPPED:
        view_id, side = rest, "left" if first == "left" else "right"
    if view_id == "sole":
        view_id = "fore-sole"
    if view_id not in VIEW_IDS:
        known = ", ".join(VIEW_IDS)
        raise UnknownNameError("view", f"{view_id!r} is no view; there are {known}", VIEW_IDS)
    return _view(view_id, side)


def _shows(key: str, region_id: str) -> bool:
    """Say whether a view shows a region; one that cannot be read shows none, nor spoils others."""
    try:
        return bool(load_view(key).rings(region_id))
    except KnowledgeError:
        return False


@cache
def views_of(region_id: str) -> tuple[str, ...]:
    """Give the keys of the views that show a region: whole horse first, limbs behind last."""
    shown = [key for key in VIEW_KEYS if _shows(key, region_id)]
    return tuple(sorted(shown, key=lambda key: load_view(key).is_far(region_id)))


def first_view_of(region_id: str) -> str:
    """Give the key of the first of a region's views, reading no more of them than needed."""
    near = (k for k in VIEW_KEYS if _shows(k, region_id) and not load_view(k).is_far(region_id))
    return next(near, "") or next(iter(views_of(region_id)), "left")


def facing(region_id: str) -> str:
    """Give the view that faces a region: a limb's front, back or inside is a strip from its side.

    The close-up then, without a side; else the first of the region's views.
    """
    region = load_regions().get(region_id)
    strip = region.cls.limb and region.cls.aspect not in {"", "lateral"}
    close = close_up_of(region_id, "") if strip else ""
    return close or first_view_of(region_id).rpartition(".")[2]


def shown_by_hand(wound: Wound) -> bool:
    """Say whether the vet put its point on the map: one left in its region's middle tells none."""
    if wound.point is None or wound.view not in VIEW_KEYS:
        return False
    view, point = load_view(wound.view), (wound.point.x_cm, wound.point.y_cm)
    known = view.rings(wound.region)
    return not known or dist(point, point_in(view, wound.region)) > ROUNDED_CM


def shown_as(view: View, region_id: str) -> str | None:
    """Give the region under which a view shows a place: itself, a finer one, or a coarser one."""
    ids = view.region_ids
    finer = [i for i in ids if i.startswith(f"{region_id}.")]
    coarser = [i for i in ids if region_id.startswith(f"{i}.")]
    return next(iter([i for i in ids if i == region_id] + finer + coarser[::-1]), None)


def stand_in(view: View, region_id: str) -> str:
    """Give the region of a view most like one: itself, the same place in the limb, or any."""
    if shown := shown_as(view, region_id):
        return shown
    cls = load_regions().get(region_id).cls
    regions = [load_regions().get(i) for i in view.region_ids]
    same = [r.id for r in regions if r.cls.part == cls.part and r.cls.limb == cls.limb]
    return same[0] if same else view.region_ids[-1]


def close_up_of(region_id: str, view_key: str) -> str:
    """Give the view that shows a region closest, seen from another; empty if there is none."""
    region = load_regions().get(region_id)
    if "head" in region.id.split(".")[:2]:
        return "head-right" if view_key == "right" else "head-left"
    if not region.cls.limb:
        return ""
    wanted = f"{region.cls.limb}-{region.cls.aspect or 'lateral'}"
    view_id = wanted if wanted in CLOSE_UPS else f"{region.cls.limb}-lateral"
    shown = shown_as(load_view(view_id, region.side or "left"), region.id)
    return view_id if shown else ""


def shape_at(view: View, x_cm: float, y_cm: float) -> Shape | None:
    """Give the piece of a region at a point, nearest the viewer; None outside the body."""
    return next((s for s in reversed(view.shapes) if inside(s.ring, x_cm, y_cm)), None)


def region_at(view: View, x_cm: float, y_cm: float) -> str | None:
    """Give the region at a point, nearest the viewer; None outside the body."""
    shape = shape_at(view, x_cm, y_cm)
    return shape.region_id if shape else None


def placed_on(view: View, region_id: str, seen_in: str, point: Point | None) -> Point | None:
    """Give where a wound stands on a view: its point, else its region's middle; None if unseen.

    A point shown in one view (`seen_in`, a key) holds in another on the same centimetres: those
    of the horse from its side and of the limb from outside.
    """
    shown = shown_as(view, region_id)
    if shown is None:
        return None
    recorded = "fore-sole" if seen_in == "sole" else seen_in.rpartition(".")[2]
    alike = view.id == recorded or {view.id, recorded} <= _ON_THE_SIDE
    if point and alike and region_at(view, *point):
        return point
    return point_in(view, shown)


def point_in(view: View, region_id: str) -> Point:
    """Give a point well inside a region; UnknownNameError if the view lacks it."""
    rings = view.rings(region_id)
    if not rings:
        raise UnknownNameError("region", f"the view {view.key} does not show {region_id!r}")
    return middle(rings[0])
