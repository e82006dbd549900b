"""How soon something must be seen: a word of its own, since every room speaks it."""

from __future__ import annotations

from enum import StrEnum


class Urgency(StrEnum):
    """How soon the vet must see it."""

    NOW = "now"
    SAME_DAY = "same day"
    NEXT_VISIT = "next visit"


def sooner(one: Urgency, other: Urgency) -> bool:
    """Say whether one presses more than the other."""
    order = tuple(Urgency)
    return order.index(one) < order.index(other)
