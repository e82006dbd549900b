"""What was seen of a wound and its horse that a flag rule can ask for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldnotes.clinical.course import Course
    from fieldnotes.domain.wounds import Amount
    from fieldnotes.knowledge.healing import HealingTables


@dataclass(frozen=True)
class Signs:
    """Signs at one visit; None = not looked at. `days_unchanged` counts since a bandage change.

    `breakdowns` counts the different breakdowns of the sutures told so far; `day` is the wound's
    day they were seen on, None for the day of the last size.
    """

    infection: tuple[str, ...] = ()
    granulation_grade: int = 0
    exudate: Amount | None = None
    exposed: tuple[str, ...] = ()
    sutured: bool = False
    dehiscence: str = ""
    breakdowns: int = 0
    day: float | None = None
    tract: bool = False
    undermined_mm: float | None = None
    epithelial_rim: bool | None = None
    lameness: int | None = None
    lameness_before: int | None = None
    in_cast: bool = False
    temperature_c: float | None = None
    foal: bool = False
    dressing_occlusive: bool = False
    days_unchanged: float | None = None


NO_SIGNS = Signs()


@dataclass(frozen=True)
class Evidence:
    """All a flag rule may look at: the course, the signs and the tables."""

    course: Course
    signs: Signs
    tables: HealingTables

    @property
    def day(self) -> float:
        """The day the wound was last seen on, measured or not."""
        return max(self.course.last.day, self.signs.day or 0.0)


@dataclass(frozen=True)
class Grounds:
    """Why a rule holds: how bad it is (larger is worse) and the words for its sentence."""

    level: float
    words: tuple[tuple[str, str], ...] = ()


def grounds(level: float, **words: object) -> Grounds:
    """Make grounds; numbers are shown with up to three digits."""
    shown = ((k, f"{v:.3g}" if isinstance(v, float) else str(v)) for k, v in words.items())
    return Grounds(level, tuple(shown))
