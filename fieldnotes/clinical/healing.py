"""The healing course of one wound: reduction, advance of the edge, and when it will be closed."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from fieldnotes.clinical.course import (
    Course,
    CoursePoint,
    Measured,
    Site,
    edge_advance_mm,
    reduction_percent,
)
from fieldnotes.clinical.phases import RETRACTING, phase_label, phase_on
from fieldnotes.clinical.projection import Closure, fit_decay, project, robust_slope
from fieldnotes.clinical.stalls import stalled
from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fieldnotes.knowledge.healing import HealingTables


def follow(series: Sequence[Measured], site: Site, tables: HealingTables) -> Course:
    """Reckon the course of one wound measured on successive days.

    RefusedInputError if the series is empty, a day comes twice or out of order, or the area is
    0 before the last day.
    """
    _refuse_disorder(series)
    until = tables.retraction(site.group).days(bandaged=site.bandaged)
    peak_day = _peak_day(series, tables.projection.spike_factor)
    points = tuple(_points(series, until, site, tables))
    since_peak = [p for p in points if p.day >= peak_day and p.area_cm2 > 0]
    withheld = _retracting(points[-1], site, until, tables) or _withheld(
        points, since_peak, until, tables
    )
    closure = None if withheld else _closure(points, since_peak, tables)
    if closure is not None:
        withheld = _too_far(closure, points[-1].day, tables)
    days, areas = [p.day for p in since_peak], [p.area_cm2 for p in since_peak]
    return Course(
        points=points,
        site=site,
        retraction_until=until,
        peak_day=peak_day,
        closure=None if withheld else closure,
        closure_withheld=withheld,
        decay=fit_decay(days, areas, tables.projection) if len(days) >= 3 else None,
    )


def _peak_day(series: Sequence[Measured], spike_factor: float) -> float:
    """Give the day of the largest area that is no misreading far above both its neighbours."""
    areas = [m.size.area_cm2 for m in series]
    spikes = {
        i
        for i in range(1, len(areas) - 1)
        if areas[i] > spike_factor * max(areas[i - 1], areas[i + 1])
    }
    return series[max(set(range(len(areas))) - spikes, key=areas.__getitem__)].day


def _refuse_disorder(series: Sequence[Measured]) -> None:
    if not series:
        raise RefusedInputError("series", "there is no measurement in it")
    for a, b in pairwise(series):
        if a.day == b.day:
            raise RefusedInputError("day", f"day {b.day:g} stands twice")
        if b.day < a.day:
            raise RefusedInputError("day", f"day {b.day:g} comes after day {a.day:g}")
        if a.size.area_cm2 == 0:
            raise RefusedInputError("area", f"0 on day {a.day:g}, but it is measured again later")


def _points(
    series: Sequence[Measured], until: float, site: Site, tables: HealingTables
) -> Iterator[CoursePoint]:
    first = series[0]
    for i, now in enumerate(series):
        before = series[i - 1] if i else None
        advance = edge_advance_mm(before.size, now.size) if before else None
        elapsed = now.day - before.day if before else 0.0
        yield CoursePoint(
            day=now.day,
            size=now.size,
            reduction_percent=reduction_percent(first.size.area_cm2, now.size.area_cm2),
            advance_mm=advance,
            rate_mm_per_day=None if advance is None else advance / elapsed,
            phase=_label(series[: i + 1], until, site, tables),
        )


def _label(so_far: Sequence[Measured], until: float, site: Site, tables: HealingTables) -> str:
    """Give the phase on the last of these days, with word of a retraction that is expected."""
    now, area = so_far[-1], so_far[-1].size.area_cm2
    grown = area > so_far[0].size.area_cm2
    expected = tables.retraction(site.group).expected and now.day <= until
    peak = max(m.size.area_cm2 for m in so_far)
    falling = area <= peak * (1 - tables.closing_percent / 100)
    phase = phase_on(
        now.day, area, closing=falling and not (grown and expected), tables=tables, seen=now.seen
    )
    return phase_label(phase, retracting=grown and expected)


def _retracting(last: CoursePoint, site: Site, until: float, tables: HealingTables) -> str | None:
    """Give the reason while the place may still retract: no course can be read off it yet."""
    retraction = tables.retraction(site.group)
    if not retraction.expected or last.day > until or last.area_cm2 == 0:
        return None
    how = "bandaged" if site.bandaged else "open"
    return f"{RETRACTING} up to day {until:g} ({site.name}, {how}): no closing day before that"


def _withheld(
    points: Sequence[CoursePoint],
    since_peak: Sequence[CoursePoint],
    until: float,
    tables: HealingTables,
) -> str | None:
    """Give the reason why no closing day can be said, None if it can."""
    if points[-1].area_cm2 == 0:
        return None
    needed = tables.projection.falls_needed
    falls = sum(b.area_cm2 < a.area_cm2 for a, b in pairwise(since_peak))
    if stalled(points, until, tables):
        return f"stalled: no steady fall up to day {points[-1].day:g}"
    if falls < needed:
        reason = f"{falls} of {needed} falls needed after the largest area"
        return f"{RETRACTING}: {reason}" if RETRACTING in points[-1].phase else reason
    if robust_slope([p.day for p in since_peak], [p.size.radius_mm for p in since_peak]) >= 0:
        return "no steady fall since the largest area"
    return None


def _closure(
    points: Sequence[CoursePoint], since_peak: Sequence[CoursePoint], tables: HealingTables
) -> Closure:
    """Give the closing day: between the last two visits if closed, else projected."""
    last = points[-1]
    if last.area_cm2 == 0:
        return Closure(points[-2].day if len(points) > 1 else last.day, last.day, last.day)
    days, radii = [p.day for p in since_peak], [p.size.radius_mm for p in since_peak]
    return project(days, radii, tables.projection)


def _too_far(closure: Closure, today: float, tables: HealingTables) -> str | None:
    most = tables.projection.most_days_ahead
    ahead = closure.likely_day - today
    if ahead <= most:
        return None
    return f"stalled: at this rate {ahead:.0f} days more, and over {most:g} is no forecast"
