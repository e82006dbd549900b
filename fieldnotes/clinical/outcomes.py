"""Outcomes over many wounds: days to closure with censoring, and rates with their intervals."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

_HALF = 0.5 + 1e-12  # a product of fractions may fall a hair above one half


@dataclass(frozen=True)
class Followed:
    """A wound followed for so many days; not closed means censored (lost, died, still open)."""

    days: float
    closed: bool


@dataclass(frozen=True)
class Step:
    """The share still open after a day on which wounds closed (Kaplan and Meier 1958)."""

    day: float
    at_risk: int
    closed: int
    open_share: float


@dataclass(frozen=True)
class Rate:
    """A share of wounds with its interval; `few` says there are too few to compare."""

    count: int
    total: int
    share: float
    low: float
    high: float
    few: bool


def still_open(wounds: Iterable[Followed]) -> tuple[Step, ...]:
    """Give the product-limit curve of wounds still open; one censored on a day counts on it."""
    followed = sorted(wounds, key=lambda wound: wound.days)
    steps: list[Step] = []
    share = 1.0
    for day in sorted({wound.days for wound in followed if wound.closed}):
        at_risk = sum(wound.days >= day for wound in followed)
        closed = sum(wound.closed and wound.days == day for wound in followed)
        share *= 1 - closed / at_risk
        steps.append(Step(day, at_risk, closed, share))
    return tuple(steps)


def median_days(steps: Iterable[Step]) -> float | None:
    """Give the first day on which at most half are still open; None if it never came."""
    return next((step.day for step in steps if step.open_share <= _HALF), None)


def share_open(steps: Iterable[Step], day: float) -> float:
    """Give the share still open at the end of a day."""
    return next((s.open_share for s in reversed(tuple(steps)) if s.day <= day), 1.0)


def wilson_rate(
    count: int, total: int, *, few_below: int = 0, confidence: float = 0.95
) -> Rate | None:
    """Give a share with its score interval (Wilson 1927); None if there are no wounds."""
    if total <= 0:
        return None
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    share, weight = count / total, z * z / total
    middle = (share + weight / 2) / (1 + weight)
    reach = z * sqrt(share * (1 - share) / total + weight / (4 * total)) / (1 + weight)
    low, high = max(0.0, middle - reach), min(1.0, middle + reach)
    return Rate(count, total, share, low, high, few=total < few_below)
