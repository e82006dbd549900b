"""A wound's course and flags, read out of the case's visits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.views import WoundFile
from fieldnotes.clinical.course import Course, Measured, Site
from fieldnotes.clinical.flags import judge, settled_flags, standing_flags
from fieldnotes.clinical.healing import follow
from fieldnotes.clinical.measuring import MOST_AREA_CM2, Size, finding_size, given
from fieldnotes.clinical.signs import NO_SIGNS, Signs
from fieldnotes.domain.cases import Status
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.followups import Doer
from fieldnotes.domain.treatment import ClosureMethod, DeviceKind
from fieldnotes.domain.wounds import Phase
from fieldnotes.knowledge.ages import is_foal
from fieldnotes.planning.anchors import local_date
from fieldnotes.planning.facts import devices_in

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.treatment import Bandage, Closure
    from fieldnotes.domain.wounds import Finding, Wound
    from fieldnotes.knowledge.library import Library
    from fieldnotes.knowledge.regions import Region

OPEN_METHODS = (ClosureMethod.SECOND_INTENTION, ClosureMethod.PARTIAL, ClosureMethod.GRAFT)
CASTS = (DeviceKind.CAST, DeviceKind.BANDAGE_CAST)


def size_of(finding: Finding) -> Size | None:
    """Give the size a finding holds, None if nothing was measured; a healed wound has none left."""
    if finding.area_cm2 is None and finding.phase is Phase.HEALED:
        return given(0.0)
    return finding_size(finding)


def measured(case: Case, label: str, zone: str) -> tuple[Measured, ...]:
    """Give a wound's sizes by day after the injury; of two on one day the later counts."""
    by_day: dict[float, Measured] = {}
    for at, finding in case.findings(label):
        size = size_of(finding)
        if size is not None:
            day = _day_of(case, label, at, zone)
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


def _day_of(case: Case, label: str, at: dt.datetime, zone: str) -> float:
    """Give the day of a wound, on the practice's calendar."""
    return float((local_date(at, zone) - local_date(case.hurt_at(label), zone)).days)


def _unmeasured(case: Case, label: str, site: Site, library: Library) -> Course | None:
    """Give a course to judge the signs of a wound by that was seen, but has no size.

    Its one size is larger than any wound's, so that no rule about small or growing ones holds.
    """
    found = case.findings(label)
    if not found:
        return None
    at, finding = found[-1]
    day = _day_of(case, label, at, library.zone)
    return follow([Measured(day, given(MOST_AREA_CM2), finding.phase)], site, library.healing)


def signs_of(case: Case, wound: Wound, age_days: int | None, today: dt.date, zone: str) -> Signs:
    """Give what was last seen of a wound and its horse, as the flag rules ask for it.

    How long a bandage has been on is counted to today.
    """
    visits = [v.body for v in case.visits]
    found = case.findings(wound.label)
    if not visits or not found:
        return NO_SIGNS
    finding = found[-1][1]
    grades = [v.lameness for v in visits if v.lameness is not None]
    closure = closure_of(case, wound.label)
    return Signs(
        infection=finding.infection_signs,
        granulation_grade=finding.granulation_grade,
        exudate=finding.exudate,
        exposed=finding.exposed,
        sutured=closure is not None and closure.method not in OPEN_METHODS,
        dehiscence=finding.dehiscence,
        day=_day_of(case, wound.label, found[-1][0], zone),
        breakdowns=len({f.dehiscence for _, f in found} - {""}),
        tract=finding.tract,
        undermined_mm=finding.undermined_mm,
        epithelial_rim=finding.epithelial_rim,
        lameness=grades[-1] if grades else None,
        lameness_before=grades[-2] if len(grades) > 1 else None,
        in_cast=any(kind in CASTS for kind in devices_in(case, wound.label)),
        temperature_c=visits[-1].vitals.temperature_c,
        foal=is_foal(age_days),
        dressing_occlusive=is_occlusive(bandage_of(case, wound.label)),
        days_unchanged=days_unchanged(case, wound.label, today, zone),
    )


def is_occlusive(bandage: Bandage | None) -> bool:
    """Whether a layer of a bandage is fully occlusive by its name."""
    materials = [layer.material.casefold() for layer in bandage.layers] if bandage else []
    return any("occlusive" in m and "semi" not in m and "non" not in m for m in materials)


def days_unchanged(case: Case, label: str, today: dt.date, zone: str) -> float | None:
    """Give the days since the vet put on the bandage a wound has.

    None without one, and where the owner changes it: those changes are not all told.
    """
    bandage = bandage_of(case, label)
    if bandage is None or bandage.changed_by != Doer.VET:
        return None
    put_on = [local_date(at, zone) for at, care in case.care(label) if care.bandage is not None]
    return float((today - put_on[-1]).days)


def wound_file(
    case: Case, wound: Wound, library: Library, age_days: int | None, today: dt.date
) -> WoundFile:
    """Judge one wound by everything recorded of it."""
    region = library.regions.get(wound.region)
    bandage = bandage_of(case, wound.label)
    site = site_of(region, bandaged=bandage is not None)
    course, problem = _course(measured(case, wound.label, library.zone), site, library)
    signs = signs_of(case, wound, age_days, today, library.zone)
    under_care = case.status is Status.OPEN
    judged = course or _unmeasured(case, wound.label, site, library)
    flags = judge(judged, library.healing, signs) if judged and under_care else ()
    answers = [a.body for a in case.answers if a.body.wound == wound.label]
    return WoundFile(
        wound=wound,
        region=region,
        findings=case.findings(wound.label),
        course=course,
        course_problem=problem,
        flags=standing_flags(flags, answers),
        answered=settled_flags(flags, answers),
        closure=closure_of(case, wound.label),
        bandage=bandage,
        devices=tuple(d.value for d in devices_in(case, wound.label)),
    )
