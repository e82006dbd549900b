"""Re-fits the travel model to the drives that were logged, so that bad days do not bend it."""

from __future__ import annotations

from itertools import combinations
from statistics import median
from typing import TYPE_CHECKING

from fieldnotes.planning.travel import DEFAULT_A_MIN, DEFAULT_B_MIN_PER_KM, TravelModel

if TYPE_CHECKING:
    from fieldnotes.domain.driving import Leg
    from fieldnotes.domain.patients import PairDrive

_FEWEST_LEGS = 8
_TRUSTED_LEGS = 30
_DEFAULT_WEIGHT = 8
_SHORTEST_KM = 1.0
_LONGEST_MIN = 180.0
_B_RANGE = (0.7, 3.0)
_ODD_FLOOR_MIN = 5.0
_MAD_TO_SIGMA = 1.4826  # of a normal distribution


def theil_sen(legs: tuple[Leg, ...]) -> tuple[float, float]:
    """Give (a, b) of minutes = a + b km: median of pairwise slopes, then median intercept.

    Theil 1950, Sen 1968. Needs two legs of different length.
    """
    slopes = [
        (q.minutes - p.minutes) / (q.km - p.km) for p, q in combinations(legs, 2) if q.km != p.km
    ]
    b = median(slopes)
    return median(leg.minutes - b * leg.km for leg in legs), b


def usable(legs: tuple[Leg, ...]) -> tuple[Leg, ...]:
    """Give the legs a fit may rest on: 1 km or more, 3 hours or less."""
    return tuple(g for g in legs if g.km >= _SHORTEST_KM and 0 < g.minutes <= _LONGEST_MIN)


def refit(
    legs: tuple[Leg, ...],
    pairs: tuple[PairDrive, ...] = (),
    default: tuple[float, float] = (DEFAULT_A_MIN, DEFAULT_B_MIN_PER_KM),
) -> TravelModel:
    """Give the travel model the logged legs support; `default` (a, b) until there are eight."""
    kept = usable(legs)
    n = len(kept)
    if n < _FEWEST_LEGS or len({leg.km for leg in kept}) < 2:
        return TravelModel(*default, pairs)
    a, b = theil_sen(kept)
    a, b = max(0.0, a), min(max(b, _B_RANGE[0]), _B_RANGE[1])
    if n < _TRUSTED_LEGS:
        a, b = _blend(a, default[0], n), _blend(b, default[1], n)
    off = sorted(abs(leg.minutes - a - b * leg.km) for leg in kept)
    return TravelModel(a, b, pairs, n, off[(n * 4 + 4) // 5 - 1])


def _blend(fitted: float, default: float, n: int) -> float:
    return (n * fitted + _DEFAULT_WEIGHT * default) / (n + _DEFAULT_WEIGHT)


def odd_legs(legs: tuple[Leg, ...]) -> tuple[Leg, ...]:
    """Give the legs far off the fit, which belong in the table of known drives instead."""
    kept = usable(legs)
    if len(kept) < _FEWEST_LEGS or len({leg.km for leg in kept}) < 2:
        return ()
    a, b = theil_sen(kept)
    off = [leg.minutes - a - b * leg.km for leg in kept]
    mid = median(off)
    limit = max(_ODD_FLOOR_MIN, 3 * _MAD_TO_SIGMA * median(abs(r - mid) for r in off))
    return tuple(leg for leg, r in zip(kept, off, strict=True) if abs(r) > limit)
