"""The text that tells an owner when to expect the vet: stable facts, and nobody else's."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.text import clean_line
from fieldnotes.knowledge.language import ENGLISH

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.knowledge.language import Language


@dataclass(frozen=True)
class Expected:
    """What one owner is told: their own horses at one place, the window, who to ring."""

    practice: str
    phone: str
    place: str
    horses: tuple[str, ...]
    opens: dt.datetime
    closes: dt.datetime


TEXT = (
    "{practice}: the vet expects to be at {place} to see {horses} on {day} "
    "between {opens} and {closes}."
)
RING = " If that does not suit, please ring {phone}."


def owner_text(told: Expected, language: Language = ENGLISH) -> str:
    """Give the text: practice, horses, day, window, number to ring."""
    weekday = language.case_of("weekday", f"{told.opens:%A}")
    text = language.say(
        TEXT,
        practice=clean_line(told.practice),
        place=clean_line(told.place),
        horses=language.say(" and ").join(clean_line(h) for h in told.horses),
        day=f"{weekday} {language.day(told.opens)}",
        opens=f"{told.opens:%H:%M}",
        closes=f"{told.closes:%H:%M}",
    )
    return text + (language.say(RING, phone=told.phone) if told.phone else "")
