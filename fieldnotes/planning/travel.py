"""How far and how long from one place to the next, and what the logged drives teach about it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldnotes.domain.patients import PairDrive, Position

# WGS 84 (NIMA TR8350.2, 2000): semi-major axis and flattening.
_A_M = 6_378_137.0
_F = 1 / 298.257223563
_E2 = _F * (2 - _F)
_MEAN_RADIUS_M = 6_371_008.8  # IUGG mean radius R1
_FLAT_LIMIT_M = 200_000.0  # beyond this the flat formula drifts; the sphere does not

DEFAULT_A_MIN = 2.0
DEFAULT_B_MIN_PER_KM = 1.35


def _haversine_m(lat1: float, lat2: float, d_lon: float) -> float:
    half = (
        math.sin((lat2 - lat1) / 2) ** 2
        + math.cos(lat1) * math.cos(lat2) * math.sin(d_lon / 2) ** 2
    )
    return 2 * _MEAN_RADIUS_M * math.asin(math.sqrt(min(1.0, half)))


def distance_km(start: Position, end: Position) -> float:
    """Give the straight-line distance over the WGS 84 ellipsoid, in kilometres.

    Mid-latitude formula with the ellipsoid's two radii (under 2 m off at 60 km), the great
    circle beyond 200 km (under 0.6 % off).
    """
    lat1, lat2 = math.radians(start.lat), math.radians(end.lat)
    d_lon = math.radians((end.lon - start.lon + 180) % 360 - 180)
    mean = (lat1 + lat2) / 2
    curve = 1 - _E2 * math.sin(mean) ** 2
    north_m = _A_M * (1 - _E2) / curve**1.5 * (lat2 - lat1)
    east_m = _A_M / math.sqrt(curve) * math.cos(mean) * d_lon
    flat_m = math.hypot(north_m, east_m)
    great_m = _haversine_m(lat1, lat2, d_lon)
    return (great_m if max(flat_m, great_m) > _FLAT_LIMIT_M else flat_m) / 1000


@dataclass(frozen=True)
class TravelModel:
    """Minutes = a + b x straight-line km; known drives between two premises overrule it.

    `legs` is the number of logged drives a and b rest on (0 = the defaults);
    `spread_min` the 80th percentile of what one leg is off by.
    """

    a_min: float = DEFAULT_A_MIN
    b_min_per_km: float = DEFAULT_B_MIN_PER_KM
    pairs: tuple[PairDrive, ...] = ()
    legs: int = 0
    spread_min: float = 5.0

    def minutes(self, km: float) -> float:
        """Give the driving minutes of a straight-line distance; none for no distance."""
        return self.a_min + self.b_min_per_km * km if km > 0 else 0.0

    def known_minutes(self, start: str, end: str) -> float | None:
        """Give a known drive between two premises ids: as driven first, else the way back."""
        for here, there in ((start, end), (end, start)):
            for pair in self.pairs:
                if (pair.start, pair.end) == (here, there):
                    return pair.minutes
        return None

    def drive(self, start: Place, end: Place) -> tuple[float, float]:
        """Give (minutes, straight-line km) between two places."""
        km = distance_km(start.position, end.position)
        known = self.known_minutes(start.id, end.id) if start.id != end.id else None
        return (self.minutes(km) if known is None else known), km


@dataclass(frozen=True)
class Place:
    """Somewhere the vet drives to: a premises id ("base" is the practice) and its position."""

    id: str
    position: Position
