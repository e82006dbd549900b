"""The chart of a case: every wound's area or edge advance by day, and what was done when."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.clinical.expected import band_words, expected_band
from fieldnotes.domain.treatment import ClosureMethod
from fieldnotes.rendering.chart import Chart, Line, Marker

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.casework.views import CaseFile
    from fieldnotes.clinical.course import Course
    from fieldnotes.domain.entries import Visit
    from fieldnotes.domain.treatment import Care
    from fieldnotes.knowledge.healing import HealingTables


def course_chart(file: CaseFile, tables: HealingTables) -> Chart | None:
    """Give the areas of all wounds; the expected band and closing days are the first's."""
    drawn = [(w.wound.label, w.course) for w in file.wounds if w.course is not None]
    if not drawn:
        return None
    lines = tuple(
        Line(f"wound {label}", tuple((p.day, p.area_cm2) for p in course.points))
        for label, course in drawn
    )
    course = drawn[0][1]
    bare = Chart(lines, closure=course.closure, markers=_markers(file))
    days = range(0, int(bare.last_day) + 3, 2)
    band = expected_band(course.points[0].area_cm2, days, course.site, tables)
    return replace(bare, band=band, caption=band_words(course.site, tables) if band else "")


def advance_chart(file: CaseFile, tables: HealingTables) -> Chart | None:
    """Give how far the edge of every wound has come since the first visit; below 0 it retracted."""
    areas = course_chart(file, tables)
    if areas is None:
        return None
    lines = tuple(
        Line(f"wound {w.wound.label}", tuple(_advanced(w.course)))
        for w in file.wounds
        if w.course is not None
    )
    words = "edge advance since the first visit, fall of area over mean perimeter (Gilman 1990)"
    return Chart(lines, unit="mm", closure=areas.closure, markers=areas.markers, caption=words)


def _advanced(course: Course) -> Iterator[tuple[float, float]]:
    total = 0.0
    for point in course.points:
        total += point.advance_mm or 0.0
        yield point.day, total


def _markers(file: CaseFile) -> tuple[Marker, ...]:
    injured = file.case.opened.injured_at.date()
    found = [
        Marker(float((visit.body.at.date() - injured).days), *done)
        for visit in file.case.visits
        for done in _done(visit.body)
    ]
    return tuple(dict.fromkeys(found))


def _done(visit: Visit) -> Iterator[tuple[str, str]]:
    for care in visit.care:
        yield from _cared(care)
    if visit.given or visit.dispensed:
        yield "D", "drugs"


def _cared(care: Care) -> Iterator[tuple[str, str]]:
    if care.closure is not None and care.closure.method is ClosureMethod.GRAFT:
        yield "G", "graft"
    elif care.closure is not None and care.closure.pattern:
        yield "C", "closed"
    if care.granulation_trimmed:
        yield "T", "trimmed"
    if any("cast" in device.kind.value for device in care.placed):
        yield "K", "cast"
    if care.bandage is not None:
        yield "B", "bandage changed"
