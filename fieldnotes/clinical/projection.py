"""The day a wound will have closed, from the robust linear advance of its edge."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from statistics import NormalDist, fmean, median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldnotes.knowledge.healing import ProjectionRule


@dataclass(frozen=True)
class Closure:
    """The projected closing day with its interval; days from wounding.

    `open_ended`: the interval goes on past `latest_day`, which is as far as a forecast goes.
    """

    earliest_day: float
    likely_day: float
    latest_day: float
    open_ended: bool = False


@dataclass(frozen=True)
class Decay:
    """Exponential fall of the area since the peak, for comparison only."""

    k_per_day: float
    half_life_days: float
    likely_day: float


def robust_slope(days: Sequence[float], values: Sequence[float]) -> float:
    """Give the median of all pairwise slopes (Theil 1950, Sen 1968); the days must differ."""
    pairs = combinations(zip(days, values, strict=True), 2)
    return median((v2 - v1) / (d2 - d1) for (d1, v1), (d2, v2) in pairs)


def closing_day(days: Sequence[float], radii_mm: Sequence[float], rate_mm: float) -> float:
    """Give the day on which radii falling at `rate_mm` a day reach 0, from all points together.

    Each point says its own day; their median is the line's. The last point keeps half a say,
    since a wound that is still open has not closed yet, however fast it began.
    """
    line = median(day + radius / rate_mm for day, radius in zip(days, radii_mm, strict=True))
    return max(line, days[-1] + radii_mm[-1] / (2 * rate_mm))


def project(days: Sequence[float], radii_mm: Sequence[float], rule: ProjectionRule) -> Closure:
    """Project the closing day from the equivalent radii since the peak, which must fall.

    The interval is Fieller's for the point where a line reaches 0, with the scatter taken from
    the points and, while they are few, from the usual measuring error.
    """
    rate = -robust_slope(days, radii_mm)
    likely = closing_day(days, radii_mm, rate)
    reach = _quantile(rule, len(days)) * rule.widening * _scatter_mm(days, radii_mm, rate, rule)
    low, high = _crossing_interval(days, radii_mm, rate, reach)
    last, furthest = days[-1], max(days[-1] + rule.most_days_ahead, likely)
    return Closure(
        earliest_day=max(last, min(low, likely)),
        likely_day=likely,
        latest_day=min(max(high, likely), furthest),
        open_ended=high > furthest,
    )


def fit_decay(days: Sequence[float], areas_cm2: Sequence[float], rule: ProjectionRule) -> Decay:
    """Fit area = A0 exp(-k t) robustly; `likely_day` is when it is too small to measure."""
    logs = [math.log(area) for area in areas_cm2]
    k = -robust_slope(days, logs)
    if k <= 0:
        return Decay(k, math.inf, math.inf)
    start = median(value + k * day for day, value in zip(days, logs, strict=True))
    likely = (start - math.log(rule.closed_area_cm2)) / k
    return Decay(k, math.log(2) / k, max(likely, days[-1]))


def healing_constant(first_cm2: float, last_cm2: float, days: float) -> float | None:
    """Give k of A = A0 exp(-k t) per day from two areas; None if it is not defined."""
    if first_cm2 <= 0 or last_cm2 <= 0 or days <= 0:
        return None
    return math.log(first_cm2 / last_cm2) / days


def _scatter_mm(
    days: Sequence[float], radii_mm: Sequence[float], rate: float, rule: ProjectionRule
) -> float:
    """Pool the scatter about the line with the usual error of measuring a radius, in mm."""
    # A radius errs by half the percentage its area errs by.
    usual = rule.measuring_error_percent / 200 * math.sqrt(fmean(r * r for r in radii_mm))
    residuals = [radius + rate * day for day, radius in zip(days, radii_mm, strict=True)]
    centre = median(residuals)
    seen = 1.4826 * median(abs(value - centre) for value in residuals)
    free = max(len(days) - 2, 0)
    pooled = rule.error_weight * usual**2 + free * seen**2
    return math.sqrt(pooled / (rule.error_weight + free))


def _quantile(rule: ProjectionRule, points: int) -> float:
    """Give Student's t for the two-sided interval (Cornish-Fisher expansion, 3 terms)."""
    z = NormalDist().inv_cdf(0.5 + rule.confidence / 2)
    free = rule.error_weight + max(points - 2, 0)
    return z + (z**3 + z) / (4 * free) + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * free**2)


def _crossing_interval(
    days: Sequence[float], radii_mm: Sequence[float], rate: float, reach_mm: float
) -> tuple[float, float]:
    """Give Fieller's interval (1954) of the day at which the line crosses 0; may be infinite."""
    middle = fmean(days)
    height = median(r - rate * (middle - d) for d, r in zip(days, radii_mm, strict=True))
    spread = math.fsum((day - middle) ** 2 for day in days)
    a = rate**2 - reach_mm**2 / spread
    c = height**2 - reach_mm**2 / len(days)
    if a <= 0:
        return middle, math.inf
    root = math.sqrt(max((rate * height) ** 2 - a * c, 0))
    return middle + (rate * height - root) / a, middle + (rate * height + root) / a
