"""What a dose passes: published ranges, volumes per site, totals and daily caps, in words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldnotes.clinical.doses import DoseOption
    from fieldnotes.knowledge.drugs import Drug, Limit, Regimen

ROUNDING = 1e-9  # keeps 10.000000000000002 mL in one 10 mL site
OVER = "OVER: "  # how the text of a passed limit begins
_SAME = 0.005  # labels round: 1.1 mg/kg is printed for 0.5 mg/lb


def site_count(volume_ml: float, most_ml: float) -> int:
    """Give the number of injection sites: volume over the most per site, rounded up."""
    return max(1, math.ceil(volume_ml / most_ml - ROUNDING))


def site_limits(
    drug: Drug, route: str, age_days: int | None, own_ml: float | None
) -> tuple[tuple[float, str], ...]:
    """Give (mL per site, whose) that hold, a regimen's own first, then the strictest first."""
    found = sorted(
        (x.value, x.label)
        for x in drug.limits
        if x.kind == "ml_per_site" and x.applies(route, age_days)
    )
    if own_ml is None:
        return tuple(found)
    return tuple(sorted(found, key=lambda pair: (pair[0] != own_ml, pair[0])))


def _site_text(volume_ml: float, most_ml: float, label: str) -> str:
    count = site_count(volume_ml, most_ml)
    sites = "site" if count == 1 else "sites"
    return (
        f"at most {most_ml:g} mL per site ({label}): {count} {sites} of {volume_ml / count:.2f} mL"
    )


def _is_over(option: DoseOption, limit: Limit) -> bool:
    more = limit.value * (1 + ROUNDING)
    if limit.kind == "total_per_kg":
        return option.per_kg > more
    if limit.kind == "ml_total":
        return option.volume_ml is not None and option.volume_ml > more
    if limit.kind == "per_day" and option.interval_h:
        return option.amount * 24 / option.interval_h > more
    return False


def _limit_text(option: DoseOption, limit: Limit) -> str:
    unit = option.unit
    value = f"{limit.value:,g}"
    words = {
        "total_per_kg": f"at most {value} {unit}/kg in one visit over all sites ({limit.label})",
        "ml_total": f"at most {value} mL ({limit.label})",
        "per_day": f"at most {value} {unit} a day ({limit.label})",
        "course_days": f"at most {value} days ({limit.label})",
    }[limit.kind]
    return f"{OVER}{words}; this is {_reached(option, limit)}" if _is_over(option, limit) else words


def _reached(option: DoseOption, limit: Limit) -> str:
    if limit.kind == "total_per_kg":
        return f"{option.per_kg:g} {option.unit}/kg"
    if limit.kind == "ml_total":
        return f"{option.volume_ml:.1f} mL"
    return f"{option.amount * 24 / (option.interval_h or 24):,.0f} {option.unit} a day"


def limit_texts(drug: Drug, option: DoseOption, age_days: int | None) -> tuple[str, ...]:
    """Give every limit that holds for an option; those it passes begin with OVER."""
    texts = [
        _limit_text(option, x)
        for x in drug.limits
        if x.kind != "ml_per_site" and x.applies(option.route, age_days)
    ]
    if option.volume_ml is not None:
        sites = site_limits(drug, option.route, age_days, option.site_ml)
        texts += [_site_text(option.volume_ml, most, label) for most, label in sites]
    return tuple(texts)


def range_warning(regimens: tuple[Regimen, ...], per_kg: float, unit: str) -> str | None:
    """Say how a dose lies outside everything published for its route; None if inside."""
    weighed = tuple(r for r in regimens if r.per_kg)
    if not weighed:
        return None
    low = min(weighed, key=lambda r: r.low)
    high = max(weighed, key=lambda r: r.high)
    if per_kg > high.high * (1 + _SAME):
        return (
            f"{per_kg:g} {unit}/kg is above the highest published dose {high.route}: "
            f"{high.high:g} {unit}/kg ({high.source})"
        )
    if per_kg < low.low * (1 - _SAME):
        return (
            f"{per_kg:g} {unit}/kg is below the lowest published dose {low.route}: "
            f"{low.low:g} {unit}/kg ({low.source})"
        )
    return None


def matching(regimens: tuple[Regimen, ...], per_kg: float) -> Regimen:
    """Give the regimen a typed dose belongs to: sourced and narrow if it fits, else the nearest."""

    def distance(regimen: Regimen) -> tuple[float, bool, float]:
        inside = regimen.low * (1 - _SAME) <= per_kg <= regimen.high * (1 + _SAME)
        gap = 0.0 if inside else min(abs(regimen.low - per_kg), abs(regimen.high - per_kg))
        return gap, regimen.unsourced, regimen.high - regimen.low

    return min((r for r in regimens if r.per_kg), key=distance, default=regimens[0])
