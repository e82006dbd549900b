"""The chart of a case: every wound's area or edge advance by day, and what was done when."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.clinical.expected import band_words, expected_band
from fieldnotes.domain.treatment import ClosureMethod
from fieldnotes.planning.anchors import local_date
from fieldnotes.rendering.chart import Chart, Line, Marker, Window

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.casework.views import CaseFile
    from fieldnotes.clinical.course import Course
    from fieldnotes.domain.entries import Visit
    from fieldnotes.domain.treatment import Care
    from fieldnotes.knowledge.healing import HealingTables


def measured_wounds(file: CaseFile) -> tuple[str, ...]:
    """Give the letters of the wounds that can be drawn."""
    return tuple(w.wound.label for w in file.wounds if w.course is not None)


def course_chart(file: CaseFile, tables: HealingTables, wound: str = "") -> Chart | None:
    """Give the area of one wound with its expected band, or of all; with their closing days.

    Several wounds have no band: each would have another one.
    """
    drawn = _drawn(file, wound)
    if not drawn:
        return None
    lines = tuple(
        Line(f"wound {label}", tuple((p.day, p.area_cm2) for p in course.points))
        for label, course in drawn
    )
    bare = Chart(lines, windows=_windows(drawn), markers=_markers(file, [x for x, _ in drawn]))
    if len(drawn) > 1:
        return bare
    course = drawn[0][1]
    days = range(0, int(bare.last_day) + 3, 2)
    band = expected_band(course.points[0].area_cm2, days, course.site, tables)
    said = band_words(course.site, tables) if band else "no published series for this place"
    return replace(bare, band=band, caption=said)


def advance_chart(
    file: CaseFile, tables: HealingTables, wound: str = "", new_skin: str = ""
) -> Chart | None:
    """Give how far the edge of a wound, or of each, has come; below 0 it retracted.

    `new_skin` is what the practice goes by for the advance of the epithelium.
    """
    areas = course_chart(file, tables, wound)
    if areas is None:
        return None
    lines = tuple(
        Line(f"wound {label}", tuple(_advanced(course))) for label, course in _drawn(file, wound)
    )
    words = "edge advance since the first visit, fall of area over mean perimeter (Gilman 1990)"
    words += f"; new skin: {new_skin}" if new_skin else ""
    return Chart(lines, unit="mm", windows=areas.windows, markers=areas.markers, caption=words)


def _drawn(file: CaseFile, wound: str) -> list[tuple[str, Course]]:
    return [
        (w.wound.label, w.course)
        for w in file.wounds
        if w.course is not None and wound in {"", w.wound.label}
    ]


def _windows(drawn: list[tuple[str, Course]]) -> tuple[Window, ...]:
    """Give the closing days of the wounds still open; a healed one's stand in its line."""
    return tuple(
        Window(line, course.closure)
        for line, (_, course) in enumerate(drawn)
        if course.closure is not None and not course.healed
    )


def _advanced(course: Course) -> Iterator[tuple[float, float]]:
    total = 0.0
    for point in course.points:
        total += point.advance_mm or 0.0
        yield point.day, total


def _markers(file: CaseFile, labels: list[str]) -> tuple[Marker, ...]:
    zone = file.practice.zone
    injured = min(local_date(file.case.hurt_at(label), zone) for label in labels)
    found = [
        Marker(float((local_date(visit.body.at, zone) - injured).days), *done)
        for visit in file.case.visits
        for done in _done(visit.body, labels)
    ]
    return tuple(dict.fromkeys(found))


def _done(visit: Visit, labels: list[str]) -> Iterator[tuple[str, str]]:
    for care in visit.care:
        if care.wound in labels:
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
        yield "B", "bandage"
