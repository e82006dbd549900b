"""Where on the horse: sides, region ids and exact points on the body map."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Side(StrEnum):
    """The horse's own side (near = left, off = right)."""

    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True)
class MapPoint:
    """A point in centimetres of the reference horse, in one view's own axes."""

    x_cm: float
    y_cm: float


def side_of(region: str) -> Side | None:
    """Give the side a region id stands on; None for a median region."""
    head, _, _ = region.partition(".")
    return Side(head) if head in {Side.LEFT, Side.RIGHT} else None
