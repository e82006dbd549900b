"""When an owner may expect the vet: a window as wide as the day has been uncertain by then."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from math import hypot
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldnotes.domain.driving import Stay

QUARTER = dt.timedelta(minutes=15)
LEAST_WIDTH = dt.timedelta(minutes=30)
DEFAULT_STAY_SPREAD_MIN = 5.0
_FEWEST_STAYS = 5


@dataclass(frozen=True)
class Spread:
    """How far off one drive and one stay usually are, in minutes (80 of 100 are nearer)."""

    drive_min: float
    stay_min: float = DEFAULT_STAY_SPREAD_MIN

    def before(self, stop: int) -> float:
        """Give how far off the arrival at the n-th stop from here is: drives and stays so far."""
        return hypot(*[self.drive_min] * stop, *[self.stay_min] * (stop - 1))


def stay_spread(stays: tuple[Stay, ...]) -> float:
    """Give the 80th percentile of what stays were off by; the default until there are five."""
    off = sorted(abs(s.minutes - s.planned_min) for s in stays)
    if len(off) < _FEWEST_STAYS:
        return DEFAULT_STAY_SPREAD_MIN
    return off[(len(off) * 4 + 4) // 5 - 1]


def arrival_window(arrive: dt.datetime, spread_min: float) -> tuple[dt.datetime, dt.datetime]:
    """Give (from, until): the arrival with its spread, rounded outwards to 15 min, 30 at least."""
    # In UTC, so that a window is as wide as it says when the clocks change; every zone's offset
    # is whole quarters of an hour.
    spread, sure = dt.timedelta(minutes=spread_min), arrive.astimezone(dt.UTC)
    opens, after = _quarter(sure - spread), sure + spread
    closes = _quarter(after)
    if closes < after:
        closes += QUARTER
    closes = max(closes, opens + LEAST_WIDTH)
    return opens.astimezone(arrive.tzinfo), closes.astimezone(arrive.tzinfo)


def _quarter(moment: dt.datetime) -> dt.datetime:
    """Round down to a quarter of an hour."""
    return moment.replace(minute=moment.minute // 15 * 15, second=0, microsecond=0)
