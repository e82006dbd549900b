"""The body's regions: names, what lies beneath, and how a typed name finds one."""

from __future__ import annotations

import json
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import cache, cached_property
from typing import Final, Literal, cast, get_args

from fieldnotes.domain.errors import KnowledgeError, UnknownNameError
from fieldnotes.knowledge.source import Row, Table, shipped_text

FILE: Final = "regions.json"

Side = Literal["left", "right"]
Limb = Literal["fore", "hind"]
Kind = Literal[
    "joint",
    "sheath",
    "bursa",
    "tendon",
    "ligament",
    "muscle",
    "nerve",
    "vessel",
    "bone",
    "organ",
]
Group = Literal["distal limb", "upper limb", "head", "neck", "trunk", "foot"]
Tension = Literal["low", "moderate", "high"]
ProudFlesh = Literal["prone", "not prone"]

SIDES: Final[tuple[Side, ...]] = get_args(Side)
SYNOVIAL_KINDS: Final = ("joint", "sheath", "bursa")


@dataclass(frozen=True)
class Structure:
    """Something under the skin; `volume_ml` is a floor for a distension test, never proof."""

    id: str
    name: str
    kind: Kind
    source: str
    volume_ml: tuple[float, float] | None = None
    volume_source: str = ""

    @property
    def synovial(self) -> bool:
        """Say whether it is a joint, a tendon sheath or a bursa."""
        return self.kind in SYNOVIAL_KINDS


@dataclass(frozen=True)
class RegionClass:
    """A region of the horse without its side; `row` is its key in the clinical reference table."""

    id: str
    row: str
    standard_name: str
    lay_template: str
    limb: Limb | None
    part: str
    aspect: str | None
    paired: bool
    structures: tuple[Structure, ...]
    high_motion: bool
    proud_flesh: ProudFlesh
    proud_flesh_source: str
    sequestrum_risk: bool
    group: Group
    girth_cm: tuple[float, float] | None
    girth_source: str
    bandages: tuple[str, ...]
    closing_tension: Tension
    note: str
    source: str

    @property
    def lay_name(self) -> str:
        """Give the owner's words without a side."""
        return self.sided_lay_name(None)

    @property
    def synovial(self) -> tuple[Structure, ...]:
        """Give the joints, sheaths and bursae beneath."""
        return tuple(s for s in self.structures if s.synovial)

    def sided_lay_name(self, side: Side | None) -> str:
        """Give the owner's words, such as "front of the left hind cannon bone"."""
        if side is None:
            return self.lay_template.replace(", {side} side", "").replace("{side} ", "")
        return self.lay_template.replace("{side}", side)


@dataclass(frozen=True)
class Region:
    """One region on one side of a horse, or a region of the midline (side None)."""

    id: str
    side: Side | None
    cls: RegionClass

    @property
    def standard_name(self) -> str:
        """Give the trade name with its side, such as "left dorsal metatarsus"."""
        return f"{self.side} {self.cls.standard_name}" if self.side else self.cls.standard_name

    @property
    def lay_name(self) -> str:
        """Give the owner's words with the side."""
        return self.cls.sided_lay_name(self.side)


_SIDE_WORDS: Final = {"left": ("left", "near"), "right": ("right", "off")}
_NEVER_GUESSED: Final = frozenset(word for words in _SIDE_WORDS.values() for word in words)
_PART_WORDS: Final = {
    "carpus": ("knee",),
    "tarsus": ("hock",),
    "metacarpus": ("cannon", "shin"),
    "metatarsus": ("cannon", "shin"),
    "antebrachium": ("forearm",),
    "gaskin": ("crus", "tibia"),
    "fetlock": ("ankle",),
    "foot": ("hoof",),
}


def _letters(text: str) -> str:
    return "".join(c if c.isalnum() else " " for c in text.casefold())


def _words(region: Region) -> tuple[str, ...]:
    """Give every word a region may be asked for by."""
    cls = region.cls
    words = f"{region.id} {region.standard_name} {region.lay_name}"
    extra: tuple[str, ...] = _PART_WORDS.get(cls.part, ())
    if region.side:
        extra += _SIDE_WORDS[region.side]
        if cls.limb:
            extra += (f"{region.side[0]}{cls.limb[0]}",)
    return tuple(dict.fromkeys((*_letters(words).split(), *extra)))


def _likeness(token: str, words: tuple[str, ...]) -> float:
    """Score 3 for a whole word, 2 for a beginning, 1 for a part, 0 for none of these."""
    if token in words:
        return 3.0
    if any(w.startswith(token) for w in words):
        return 2.0
    return 1.0 if len(token) > 2 and any(token in w for w in words) else 0.0


def _nearness(token: str, words: tuple[str, ...]) -> float:
    """Score a token that may be misspelt: below 1, and 0 unless it is close to a word.

    A side is never guessed: it would choose half of the horse.
    """
    if likeness := _likeness(token, words):
        return likeness
    if len(token) < 4:
        return 0.0
    guessed = [w for w in words if w not in _NEVER_GUESSED]
    ratio = max((SequenceMatcher(None, token, w).ratio() for w in guessed), default=0.0)
    return ratio if ratio >= 0.75 else 0.0


class Regions:
    """Every region of the horse, found by id or by words."""

    def __init__(self, classes: tuple[RegionClass, ...]) -> None:
        self.classes = classes
        self.all = tuple(region for cls in classes for region in _sided(cls))
        self._by_id = {region.id: region for region in self.all}

    @cached_property
    def _words(self) -> dict[str, tuple[str, ...]]:
        return {region.id: _words(region) for region in self.all}

    @cached_property
    def structures(self) -> dict[str, Structure]:
        """Give every structure that lies beneath some region, by id."""
        return {s.id: s for cls in self.classes for s in cls.structures}

    def __contains__(self, region_id: object) -> bool:
        return region_id in self._by_id

    def get(self, region_id: str) -> Region:
        """Give the region with exactly this id; UnknownNameError if there is none."""
        try:
            return self._by_id[region_id]
        except KeyError:
            raise UnknownNameError("region", f"no region is called {region_id!r}") from None

    def find(self, text: str) -> tuple[Region, ...]:
        """Give the regions a text may mean, best first: id, row key, dotted part, or words."""
        key = text.strip().casefold()
        if not key:
            return ()
        return self._exact(key) or self._dotted(key) or self._spoken(key)

    def classes_matching(self, text: str) -> tuple[RegionClass, ...]:
        """Give the classes a text may mean, for use where the side does not matter."""
        return tuple({r.cls.id: r.cls for r in self.find(text)}.values())

    def one(self, text: str) -> Region:
        """Give the only region a text may mean; UnknownNameError lists the matches otherwise."""
        found = self.find(text)
        if len(found) == 1:
            return found[0]
        if not found:
            raise UnknownNameError("region", f"no region fits {text!r}")
        names = tuple(r.id for r in found)
        reason = f"{text!r} fits {len(found)} regions: {', '.join(names[:12])}"
        raise UnknownNameError("region", reason + (" ..." if len(names) > 12 else ""), names)

    def _exact(self, key: str) -> tuple[Region, ...]:
        if key in self._by_id:
            return (self._by_id[key],)
        side, bare = _split_side(key)
        sided = [r for r in self.all if side in (None, r.side)]
        by_class = tuple(r for r in sided if r.cls.id == bare)
        return by_class or tuple(r for r in sided if r.cls.row == bare)

    def _dotted(self, key: str) -> tuple[Region, ...]:
        if "." not in key:
            return ()
        return tuple(
            r for r in self.all if f".{key}." in f".{r.id}." or f".{key}." in f".{r.cls.row}."
        )

    def _spoken(self, key: str) -> tuple[Region, ...]:
        """Give the regions whose worst-fitting word fits best, so that whole words beat parts."""
        tokens = _letters(key).split()
        for measure in (_likeness, _nearness):
            scores = [
                min((measure(token, self._words[region.id]) for token in tokens), default=0.0)
                for region in self.all
            ]
            if best := max(scores, default=0.0):
                return tuple(r for r, score in zip(self.all, scores, strict=True) if score == best)
        return ()


def _split_side(key: str) -> tuple[Side | None, str]:
    for side in SIDES:
        if key.startswith(f"{side}."):
            return side, key.removeprefix(f"{side}.")
    return None, key


def _sided(cls: RegionClass) -> tuple[Region, ...]:
    if not cls.paired:
        return (Region(cls.id, None, cls),)
    return tuple(Region(f"{side}.{cls.id}", side, cls) for side in SIDES)


def _one_of(row: Row, field: str, kind: object) -> str:
    value = row.text(field)
    if value not in get_args(kind):
        raise row.error(field, f"{value!r} is not one of {', '.join(get_args(kind))}")
    return value


def _structure(row: Row) -> Structure:
    volume = row.pair("volume_ml") if "volume_ml" in row.data else None
    return Structure(
        row.text("id"),
        row.text("name"),
        cast("Kind", _one_of(row, "kind", Kind)),
        row.source(),
        volume,
        row.source("volume_source") if volume else "",
    )


def _beneath(row: Row, known: dict[str, Structure]) -> tuple[Structure, ...]:
    names = row.texts("structures")
    for name in names:
        if name not in known:
            raise row.error("structures", f"no structure is called {name!r}")
    return tuple(known[name] for name in names)


def _region_class(row: Row, known: dict[str, Structure], prone: Row) -> RegionClass:
    first = row.text("id").partition(".")[0]
    group = cast("Group", _one_of(row, "group", Group))
    girth = row.pair("girth_cm") if "girth_cm" in row.data else None
    return RegionClass(
        id=row.text("id"),
        row=row.text("row"),
        standard_name=row.text("standard_name"),
        lay_template=row.text("lay_name"),
        limb=cast("Limb", first) if first in get_args(Limb) else None,
        part=row.text("part"),
        aspect=row.text("aspect", "") or None,
        paired=row.flag("paired", default=True),
        structures=_beneath(row, known),
        high_motion=row.flag("high_motion", default=False),
        proud_flesh=cast("ProudFlesh", _one_of(row, "proud_flesh", ProudFlesh)),
        proud_flesh_source=prone.source(group),
        sequestrum_risk=row.flag("sequestrum_risk", default=False),
        group=group,
        girth_cm=girth,
        girth_source=row.source("girth_source") if girth else "",
        bandages=row.texts("bandages"),
        closing_tension=cast("Tension", _one_of(row, "closing_tension", Tension)),
        note=row.text("note", ""),
        source=row.source(),
    )


def parse_json_table(file: str, text: str) -> Table:
    """Parse JSON text; KnowledgeError names the file and the line."""
    try:
        data = json.loads(text)
    except json.JSONDecodeError as error:
        raise KnowledgeError(f"{file}, line {error.lineno}: {error.msg}") from error
    if not isinstance(data, dict):
        raise KnowledgeError(f"{file}: an object is needed")
    return Table(file, data)


def read_regions(table: Table) -> Regions:
    """Read and validate a table of regions; KnowledgeError names file, row and field."""
    known = {s.id: s for s in map(_structure, table.rows("structure"))}
    prone = Row(table.file, "proud_flesh_sources", table.data.get("proud_flesh_sources", {}))
    rows = table.rows("region")
    classes = tuple(_region_class(row, known, prone) for row in rows)
    seen: set[str] = set()
    for row, cls in zip(rows, classes, strict=True):
        if cls.id in seen:
            raise row.error("id", "this id stands twice")
        seen.add(cls.id)
    return Regions(classes)


@cache
def load_regions() -> Regions:
    """Give the shipped regions, read and validated once."""
    return read_regions(parse_json_table(FILE, shipped_text(FILE)))
