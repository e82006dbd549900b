"""A wound, where it is, and what was found in it at one visit."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from fieldnotes.domain.anatomy import MapPoint, Side, side_of


class WoundKind(StrEnum):
    """How the skin was broken."""

    LACERATION = "laceration"
    INCISION = "incision"
    PUNCTURE = "puncture"
    AVULSION = "avulsion"
    DEGLOVING = "degloving"
    ABRASION = "abrasion"
    CONTUSION = "contusion"
    HAEMATOMA = "haematoma"
    BURN = "burn"
    ULCER = "ulcer"


class Contamination(StrEnum):
    """Contamination class at first sight."""

    CLEAN = "clean"
    CLEAN_CONTAMINATED = "clean-contaminated"
    CONTAMINATED = "contaminated"
    DIRTY = "dirty"


@dataclass(frozen=True)
class Wound:
    """One wound of a case: a letter, a region of the body map and the exact point."""

    label: str
    region: str
    kind: WoundKind = WoundKind.LACERATION
    view: str = ""
    point: MapPoint | None = None
    angle_deg: float = 0.0
    contamination: Contamination = Contamination.CONTAMINATED

    @property
    def side(self) -> Side | None:
        """The horse's side it is on, None on a median region."""
        return side_of(self.region)


class Phase(StrEnum):
    """Phase of healing as seen."""

    FRESH = "fresh"
    INFLAMMATORY = "inflammatory"
    GRANULATING = "granulating"
    EPITHELIALISING = "epithelialising"
    HEALED = "healed"


class Amount(StrEnum):
    """Amount of exudate."""

    NONE = "none"
    LOW = "low"
    MODERATE = "moderate"
    HEAVY = "heavy"


class Measuring(StrEnum):
    """How an area was got; methods are not mixed without a note."""

    ELLIPSE = "ellipse"
    RECTANGLE = "rectangle"
    TRACING = "tracing"
    SQUARES = "squares"
    GIVEN = "given"


class SynovialEntry(StrEnum):
    """Whether a synovial structure was entered."""

    NOT_EXAMINED = "not examined"
    EXCLUDED = "excluded"
    SUSPECTED = "suspected"
    CONFIRMED = "confirmed"


@dataclass(frozen=True)
class Finding:
    """One wound at one visit; lengths in mm, area in cm2, None = not taken.

    `epithelial_rim` says whether new skin grows in from the edge, None where nobody looked.
    `outline_cm` holds the points of a traced edge, `squares` and `square_mm` what was counted
    on a sheet and how long a square's side is; the area reckoned from them stands beside.
    """

    wound: str
    length_mm: float | None = None
    width_mm: float | None = None
    depth_mm: float | None = None
    area_cm2: float | None = None
    perimeter_cm: float | None = None
    measuring: Measuring = Measuring.ELLIPSE
    phase: Phase = Phase.FRESH
    exudate: Amount = Amount.NONE
    exudate_kind: str = ""
    granulation_grade: int = 0
    infection_signs: tuple[str, ...] = ()
    exposed: tuple[str, ...] = ()
    synovial_entry: SynovialEntry = SynovialEntry.NOT_EXAMINED
    dehiscence: str = ""
    tract: bool = False
    undermined_mm: float | None = None
    epithelial_rim: bool | None = None
    pain: str = ""
    note: str = ""
    outline_cm: tuple[tuple[float, float], ...] = ()
    squares: float | None = None
    square_mm: float | None = None

    @property
    def healed(self) -> bool:
        """Whether the wound was found healed: so named, or with no area left."""
        return self.phase is Phase.HEALED or self.area_cm2 == 0


SIZE_FIELDS = (
    "length_mm",
    "width_mm",
    "depth_mm",
    "area_cm2",
    "perimeter_cm",
    "measuring",
    "outline_cm",
    "squares",
    "square_mm",
)
Found = tuple[dt.datetime, Finding]


def with_measured(seen: Iterable[Found], measured: Iterable[Found]) -> tuple[Found, ...]:
    """Give a wound's findings with later measurements, oldest first.

    A measurement renews the size of what was last seen; everything else stays as seen.
    """
    marked = [(at, f, False) for at, f in seen] + [(at, f, True) for at, f in measured]
    found: list[Found] = []
    for at, finding, size_only in sorted(marked, key=lambda item: item[0]):
        last = found[-1][1] if found else Finding(finding.wound)
        sizes = {name: getattr(finding, name) for name in SIZE_FIELDS}
        found.append((at, replace(last, **sizes) if size_only else finding))
    return tuple(found)


INFECTION_SIGNS = (
    "swelling",
    "heat",
    "pain",
    "more discharge",
    "bad smell",
    "redness",
    "fever",
)
EXPOSED_STRUCTURES = ("bone", "periosteum", "tendon", "ligament", "joint", "sheath")
