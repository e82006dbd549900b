"""`fieldnotes reckon course`: the healing course of a series of sizes."""

from __future__ import annotations

import math
import sys
from typing import TYPE_CHECKING, Any

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.reckon.files import read_text
from fieldnotes.clinical.course import Site
from fieldnotes.clinical.flags import judge
from fieldnotes.clinical.healing import follow
from fieldnotes.clinical.series import read_series
from fieldnotes.domain.errors import UnknownNameError
from fieldnotes.knowledge.healing import load_healing

if TYPE_CHECKING:
    import argparse

    from fieldnotes.clinical.course import Course, CoursePoint
    from fieldnotes.clinical.flags import Flag


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument(
        "file",
        metavar="FILE.csv",
        help="day,length_cm,width_cm or day,area_cm2[,perimeter_cm]; days from wounding",
    )
    parser.add_argument("--region", metavar="R", help="where on the horse, by id or name")
    parser.add_argument("--bandaged", action="store_true", help="the wound is kept bandaged")


def site(region: str | None, *, bandaged: bool) -> Site:
    """Give what about a region decides the course; UnknownNameError unless it is of one kind."""
    if region is None:
        return Site(bandaged=bandaged)
    from fieldnotes.knowledge.regions import load_regions  # noqa: PLC0415  (large, often unused)

    found = load_regions().classes_matching(region)
    if not found:
        raise UnknownNameError("--region", f"no region fits '{region}'")
    groups = {cls.group for cls in found}
    if len(groups) > 1:
        names = tuple(cls.id for cls in found)
        reason = f"'{region}' fits places that heal differently: {', '.join(names)}"
        raise UnknownNameError("--region", reason, names)
    prone = all(cls.proud_flesh == "prone" for cls in found)
    return Site(found[0].group, proud_flesh=prone, bandaged=bandaged)


def _point(point: CoursePoint) -> dict[str, Any]:
    return {
        "day": int(point.day) if point.day.is_integer() else point.day,
        "area_cm2": point.area_cm2,
        "perimeter_cm": point.size.perimeter_cm,
        "reduction_percent": point.reduction_percent,
        "advance_mm": point.advance_mm,
        "rate_mm_per_day": point.rate_mm_per_day,
        "radius_mm": point.size.radius_mm,
        "phase": point.phase,
    }


def _closure(course: Course) -> dict[str, float | bool] | None:
    closure = course.closure
    if closure is None:
        return None
    return {
        "earliest_day": closure.earliest_day,
        "likely_day": closure.likely_day,
        "latest_day": closure.latest_day,
        "open_ended": closure.open_ended,
    }


def _decay(course: Course) -> dict[str, float | None] | None:
    decay = course.decay
    if decay is None:
        return None
    return {
        "k_per_day": decay.k_per_day,
        "half_life_days": _finite(decay.half_life_days),
        "likely_day": _finite(decay.likely_day),
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _document(course: Course, flags: tuple[Flag, ...]) -> dict[str, Any]:
    return {
        "points": [_point(point) for point in course.points],
        "phase": course.phase,
        "closure": _closure(course),
        "closure_withheld": course.closure_withheld,
        "exponential": _decay(course),
        "peak_day": course.peak_day,
        "retraction_until_day": course.retraction_until,
        "retraction_source": load_healing().retraction(course.site.group).source,
        "flags": [
            {
                "flag": flag.flag,
                "urgency": flag.urgency,
                "why": flag.why,
                "source": flag.source,
                "rule": flag.rule,
            }
            for flag in flags
        ],
    }


def _cell(value: float | None, digits: int) -> str:
    return "-" if value is None else f"{value:.{digits}f}"


def _text(course: Course, flags: tuple[Flag, ...]) -> str:
    lines = [f"{'day':>5} {'cm2':>8} {'fall %':>7} {'edge mm':>8} {'mm/day':>7}  phase"]
    lines += [
        f"{p.day:>5g} {p.area_cm2:>8.2f} {_cell(p.reduction_percent, 1):>7} "
        f"{_cell(p.advance_mm, 2):>8} {_cell(p.rate_mm_per_day, 3):>7}  {p.phase}"
        for p in course.points
    ]
    closure = course.closure
    if course.healed:
        lines.append(f"closed by day {course.last.day:g}")
    elif closure is not None:
        lines.append(
            f"closed about day {closure.likely_day:.0f} "
            f"(day {closure.earliest_day:.0f} to {'after ' if closure.open_ended else ''}"
            f"{closure.latest_day:.0f}, 4 of 5 such wounds)"
        )
    else:
        lines.append(f"no closing day: {course.closure_withheld}")
    lines += [f"{flag.urgency}: {flag.flag.replace('_', ' ')}: {flag.why}" for flag in flags]
    return "\n".join(lines) + "\n"


def run(args: argparse.Namespace) -> int:
    """Print the course of the series."""
    series = read_series(read_text(args.file))
    tables = load_healing()
    course = follow(series, site(args.region, bandaged=args.bandaged), tables)
    flags = judge(course, tables)
    if args.json:
        emit_json(_document(course, flags))
    else:
        sys.stdout.write(_text(course, flags))
    return 0
