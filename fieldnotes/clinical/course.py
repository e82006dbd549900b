"""The records of a healing course: what was measured, where, and what it came to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.units import MM_PER_CM

if TYPE_CHECKING:
    from fieldnotes.clinical.measuring import Size
    from fieldnotes.clinical.projection import Closure, Decay
    from fieldnotes.domain.wounds import Phase


@dataclass(frozen=True)
class Measured:
    """A wound measured on one day after wounding; `seen` is the phase the vet saw."""

    day: float
    size: Size
    seen: Phase | None = None


@dataclass(frozen=True)
class Site:
    """What about the place decides the course; an empty group means it is not known."""

    group: str = ""
    proud_flesh: bool = False
    bandaged: bool = False

    @property
    def name(self) -> str:
        """The kind of place in words."""
        return self.group or "place not given"


@dataclass(frozen=True)
class CoursePoint:
    """One visit in the course: reduction against the first, advance against the one before."""

    day: float
    size: Size
    reduction_percent: float | None
    advance_mm: float | None
    rate_mm_per_day: float | None
    phase: str

    @property
    def area_cm2(self) -> float:
        """The area in cm2."""
        return self.size.area_cm2


@dataclass(frozen=True)
class Course:
    """A wound's course so far and, if it can be said, when it will be closed."""

    points: tuple[CoursePoint, ...]
    site: Site
    retraction_until: float
    peak_day: float
    closure: Closure | None
    closure_withheld: str | None
    decay: Decay | None

    @property
    def last(self) -> CoursePoint:
        """The last visit."""
        return self.points[-1]

    @property
    def phase(self) -> str:
        """The phase at the last visit."""
        return self.last.phase

    @property
    def healed(self) -> bool:
        """Whether the last area was 0."""
        return self.last.area_cm2 == 0


def reduction_percent(first_cm2: float, area_cm2: float) -> float | None:
    """Give the fall in percent of the first area, negative for growth; None if that was 0."""
    return 100 * ((first_cm2 - area_cm2) / first_cm2) if first_cm2 > 0 else None


def edge_advance_mm(before: Size, after: Size) -> float | None:
    """Give the linear advance of the edge: fall of area over mean perimeter (Gilman 1990).

    None if both wounds are closed.
    """
    mean_perimeter_cm = (before.perimeter_cm + after.perimeter_cm) / 2
    if mean_perimeter_cm == 0:
        return None
    return MM_PER_CM * (before.area_cm2 - after.area_cm2) / mean_perimeter_cm
