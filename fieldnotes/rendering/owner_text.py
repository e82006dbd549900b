"""The text that tells an owner when to expect the vet: stable facts, and nobody else's."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.text import clean_line

if TYPE_CHECKING:
    import datetime as dt


@dataclass(frozen=True)
class Expected:
    """What one owner is told: their own horses at one place, the window, who to ring."""

    practice: str
    phone: str
    place: str
    horses: tuple[str, ...]
    opens: dt.datetime
    closes: dt.datetime


def owner_text(told: Expected) -> str:
    """Give the text: practice, horses, day, window, number to ring."""
    horses = " and ".join(clean_line(h) for h in told.horses)
    day = f"{told.opens:%A} {told.opens.day} {told.opens:%B}"
    place = clean_line(told.place)
    ring = f" If that does not suit, please ring {told.phone}." if told.phone else ""
    return (
        f"{clean_line(told.practice)}: the vet expects to be at {place} to see {horses} on {day} "
        f"between {told.opens:%H:%M} and {told.closes:%H:%M}.{ring}"
    )
