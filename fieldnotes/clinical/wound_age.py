"""The age of a wound at first sight, in hours, and what it means for closing it."""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.treatment import ClosureMethod

if TYPE_CHECKING:
    from fieldnotes.knowledge.wound_ages import AgeClass, WoundAges

TIMED = (ClosureMethod.PRIMARY, ClosureMethod.DELAYED_PRIMARY, ClosureMethod.SECONDARY)


def hours_between(injured_at: dt.datetime, seen_at: dt.datetime) -> float:
    """Give the hours that went by; both moments must name their zone."""
    # Two times of one zone subtract as the clock shows them: an hour off on a changing night.
    return (seen_at.astimezone(dt.UTC) - injured_at.astimezone(dt.UTC)) / dt.timedelta(hours=1)


def age_class(hours: float, ages: WoundAges) -> AgeClass:
    """Give the class of a wound so many hours old; RefusedInputError for no such age."""
    if not math.isfinite(hours) or hours < 0:
        raise RefusedInputError("hours", f"{hours:g} hours: no wound is seen before it happened")
    return next(c for c in ages.classes if hours < c.under_hours)


def age_words(hours: float, ages: WoundAges) -> str:
    """Give the class of a wound in a few words."""
    return f"class {age_class(hours, ages).number}: {age_class(hours, ages).means}"


def closure_by_time(hours: float, ages: WoundAges, *, granulating: bool) -> ClosureMethod:
    """Give what a closure so long after the injury is called."""
    if granulating:
        return ClosureMethod.SECONDARY
    if hours <= ages.primary_within_hours:
        return ClosureMethod.PRIMARY
    return ClosureMethod.DELAYED_PRIMARY
