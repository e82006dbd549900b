"""The band of areas a wound of this kind of place is expected in, from the published series."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.units import MM_PER_CM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldnotes.clinical.course import Site
    from fieldnotes.knowledge.healing import HealingTables


@dataclass(frozen=True)
class BandPoint:
    """The least and the most area expected on a day, in cm2."""

    day: float
    least_cm2: float
    most_cm2: float


def expected_band(
    first_cm2: float, days: Sequence[float], site: Site, tables: HealingTables
) -> tuple[BandPoint, ...]:
    """Give the band for a wound of this first area; nothing where no series was published.

    Least: the fastest published net rate, no retraction. Most: the whole expected retraction,
    then a straight fall to the closing day of the slowest published net rate.
    """
    group = "distal limb" if site.group == "foot" else site.group
    used = [s for s in tables.series if s.in_band and s.group == group]
    rates = [rate for series in used for rate in series.net_rates_mm]
    if not rates or first_cm2 <= 0:
        return ()
    start = MM_PER_CM * math.sqrt(first_cm2 / math.pi)
    retraction = tables.retraction(site.group)
    until = retraction.days(bandaged=site.bandaged) if retraction.expected else 0.0
    peak = start * math.sqrt(retraction.growth_factor) if until else start
    closes = max(start / min(rates), until + 1)
    return tuple(
        BandPoint(
            day,
            _area(start - max(rates) * day),
            _area(
                start + (peak - start) * day / until
                if day < until
                else peak * (closes - day) / (closes - until)
            ),
        )
        for day in days
    )


def band_words(site: Site, tables: HealingTables) -> str:
    """Say which published series the band of a place comes from, and what limits them."""
    group = "distal limb" if site.group == "foot" else site.group
    used = [s for s in tables.series if s.in_band and s.group == group]
    left_out = [s for s in tables.series if not s.in_band and s.group == group]
    alike = {limits: [s.id for s in used if s.limits == limits] for limits in
             dict.fromkeys(s.limits for s in used if s.limits)}  # fmt: skip
    limits = [f"{', '.join(ids)}: {words}" for words, ids in alike.items()]
    rates = [rate for s in used for rate in s.net_rates_mm]
    words = (
        f"expected: {len(used)} published series of the {group} ({', '.join(s.id for s in used)}), "
        f"net {min(rates):.2f}-{max(rates):.2f} mm a day"
    )
    words += f"; limits: {'; '.join(limits)}" if limits else ""
    return words + (f"; left out: {', '.join(s.id for s in left_out)}" if left_out else "")


def _area(radius_mm: float) -> float:
    return math.pi * (max(radius_mm, 0) / MM_PER_CM) ** 2
