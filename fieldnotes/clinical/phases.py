"""The phase of healing a wound is in on a day, from what was seen, its size and its age."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.wounds import Phase

if TYPE_CHECKING:
    from fieldnotes.knowledge.healing import HealingTables

RETRACTING = "expected retraction"


def phase_on(
    day: float,
    area_cm2: float,
    *,
    closing: bool,
    tables: HealingTables,
    seen: Phase | None = None,
) -> Phase:
    """Give the phase on a day: as seen, or else from the area, the age and whether it closes."""
    if area_cm2 == 0:
        return Phase.HEALED
    # "fresh" is also what stands where nobody was asked; no wound is fresh after its first days.
    if seen is not None and not (seen is Phase.FRESH and day >= tables.granulation_from_day):
        return seen
    if day < tables.granulation_from_day:
        return Phase.FRESH if day < 1 else Phase.INFLAMMATORY
    return Phase.EPITHELIALISING if closing else Phase.GRANULATING


def phase_label(phase: Phase, *, retracting: bool) -> str:
    """Give the phase in words; a wound that grows as expected says so."""
    return f"{phase} ({RETRACTING})" if retracting else str(phase)
