"""Whether a wound stands still: the checks behind the stall and graft rules."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from fieldnotes.clinical.course import reduction_percent

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldnotes.clinical.course import CoursePoint
    from fieldnotes.knowledge.healing import FlagRule, HealingTables

# How much of the window must be covered by measurements before it is judged.
_COVERED = 0.75


def small_fall(points: Sequence[CoursePoint], until: float, rule: FlagRule) -> float | None:
    """Give the percent the area fell over the rule's window if that was too little, else None.

    A window that reaches back into the time of expected retraction counts from the largest
    area in it, and less fall is asked of the shorter time.
    """
    last, window = points[-1], rule.number("window_days")
    if last.area_cm2 == 0 or last.day < rule.number("from_day"):
        return None
    start = max(last.day - window, points[0].day)
    if last.day - start < _COVERED * window:
        return None
    since = (start, _area_on(points, start))
    if start < until:
        within = [(p.day, p.area_cm2) for p in points if p.day >= start]
        since = max([since, *within], key=lambda seen: seen[1])
    fall = reduction_percent(since[1], last.area_cm2)
    needed = rule.number("least_percent") * (last.day - since[0]) / window
    return fall if fall is not None and (fall < needed or since[0] == last.day) else None


def no_fall(points: Sequence[CoursePoint], until: float, rule: FlagRule) -> float | None:
    """Give the percent of the fall over the last visits if none of them brought one, else None.

    Only visits after the expected retraction count.
    """
    visits = int(rule.number("visits"))
    if len(points) <= visits:
        return None
    base, *later = points[-visits - 1 :]
    if later[-1].day - base.day < rule.number("span_days"):
        return None
    if any(p.day <= until or p.advance_mm is None or p.advance_mm > 0 for p in later):
        return None
    return reduction_percent(base.area_cm2, later[-1].area_cm2)


STALL_TESTS = {"small_fall": small_fall, "no_fall": no_fall}


def stalled(points: Sequence[CoursePoint], until: float, tables: HealingTables) -> bool:
    """Say whether any of the stall rules holds."""
    rules = (rule for rule in tables.flag_rules if rule.flag == "stalled")
    return any(STALL_TESTS[rule.test](points, until, rule) is not None for rule in rules)


def _area_on(points: Sequence[CoursePoint], day: float) -> float:
    """Give the area on a day between two visits, on the straight line between them."""
    for a, b in pairwise(points):
        if a.day <= day <= b.day:
            return a.area_cm2 + (b.area_cm2 - a.area_cm2) * (day - a.day) / (b.day - a.day)
    return points[-1].area_cm2
