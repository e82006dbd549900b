"""A wound's course and flags, read out of the case's visits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.views import WoundFile
from fieldnotes.clinical.course import Course, Measured, Site
from fieldnotes.clinical.healing import follow
from fieldnotes.clinical.measuring import Size, ellipse, given, rectangle
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.wounds import Measuring, Phase

if TYPE_CHECKING:
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.treatment import Bandage, Closure
    from fieldnotes.domain.wounds import Finding, Wound
    from fieldnotes.knowledge.library import Library
    from fieldnotes.knowledge.regions import Region

MM_PER_CM = 10


def size_of(finding: Finding) -> Size | None:
    """Give the size a finding holds, None if nothing was measured."""
    if finding.area_cm2 is not None:
        return given(finding.area_cm2, finding.perimeter_cm)
    if finding.phase is Phase.HEALED:
        return given(0.0)
    if finding.length_mm is None or finding.width_mm is None:
        return None
    shape = rectangle if finding.measuring is Measuring.RECTANGLE else ellipse
    return shape(finding.length_mm / MM_PER_CM, finding.width_mm / MM_PER_CM, finding.depth_mm)


def measured(case: Case, label: str) -> tuple[Measured, ...]:
    """Give a wound's sizes by day after the injury; of two on one day the later counts."""
    injured = case.opened.injured_at.date()
    by_day: dict[float, Measured] = {}
    for at, finding in case.findings(label):
        size = size_of(finding)
        if size is not None:
            day = float((at.date() - injured).days)
            by_day[day] = Measured(day, size, finding.phase)
    return tuple(by_day[day] for day in sorted(by_day))


def closure_of(case: Case, label: str) -> Closure | None:
    """Give how a wound was last closed."""
    closures = [c.closure for _, c in case.care(label) if c.closure is not None]
    return closures[-1] if closures else None


def bandage_of(case: Case, label: str) -> Bandage | None:
    """Give the bandage on a wound now; None if it has none or bandaging was stopped."""
    bandage: Bandage | None = None
    for _, care in case.care(label):
        if care.bandage_stopped:
            bandage = None
        elif care.bandage is not None:
            bandage = care.bandage
    return bandage


def site_of(region: Region, *, bandaged: bool) -> Site:
    """Give what about a place decides the course."""
    prone = region.cls.proud_flesh == "prone"
    return Site(group=region.cls.group, proud_flesh=prone, bandaged=bandaged)


def _course(
    series: tuple[Measured, ...], site: Site, library: Library
) -> tuple[Course | None, str]:
    if not series:
        return None, "not measured yet"
    try:
        return follow(series, site, library.healing), ""
    except RefusedInputError as error:
        return None, str(error)


def wound_file(case: Case, wound: Wound, library: Library) -> WoundFile:
    """Judge one wound by everything recorded of it."""
    region = library.regions.get(wound.region)
    bandage = bandage_of(case, wound.label)
    site = site_of(region, bandaged=bandage is not None)
    course, problem = _course(measured(case, wound.label), site, library)
    return WoundFile(
        wound=wound,
        region=region,
        findings=case.findings(wound.label),
        course=course,
        course_problem=problem,
        flags=(),
        closure=closure_of(case, wound.label),
        bandage=bandage,
    )
