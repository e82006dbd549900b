"""The whole record of a case on paper: course, map, photographs, every entry and amendment."""

from __future__ import annotations

from base64 import b64encode
from typing import TYPE_CHECKING

from fieldnotes.casework.charts import advance_chart, course_chart
from fieldnotes.casework.letter_sections import (
    Section,
    animal,
    moment,
    people,
    plan,
    state,
    wounds,
)
from fieldnotes.domain.entries import Amendment
from fieldnotes.domain.errors import FieldnotesError
from fieldnotes.domain.text import clean_line
from fieldnotes.rendering.chart_svg import chart_svg
from fieldnotes.rendering.entry_words import happened_at, photograph_words, texts_of, title_of
from fieldnotes.rendering.handout.sheet import Picture
from fieldnotes.rendering.pictures import smaller

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from fieldnotes.casework.album import Photo
    from fieldnotes.casework.papers import Office
    from fieldnotes.casework.views import CaseFile
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.entries import Entry
    from fieldnotes.rendering.chart import Chart

PHOTO_PX = 900


def report_sections(
    file: CaseFile,
    office: Office,
    photos: Iterable[tuple[Photo, Callable[[], bytes]]],
    *,
    png: bool,
) -> Iterator[Section]:
    """Give the report's sections in their order; `png` draws the charts for PDF and mail."""
    yield from (people(file), animal(file), wounds(file, office), state(file, office))
    yield Section("The course of healing", _course(file), tuple(_charts(file, office, png=png)))
    yield _photographs(photos, office)
    yield plan(file)
    yield from _timeline(file.case, office)
    yield _signed(file.case, office)


def _course(file: CaseFile) -> tuple[str, ...]:
    found = (w for w in file.wounds if w.course is not None or w.course_problem)
    return tuple(
        f"Wound {w.wound.label}: {w.course_problem or _closing(w.course)}"
        for w in found
        if w.course_problem or w.course is not None
    )


def _closing(course: object) -> str:
    window = getattr(course, "closure", None)
    if window is None:
        return "no closing day can be projected yet."
    return (
        f"projected to close from day {window.earliest_day:.0f} to {window.latest_day:.0f} "
        "after the injury; a projection, no promise."
    )


def _charts(file: CaseFile, office: Office, *, png: bool) -> Iterator[Picture]:
    healing = office.library.healing
    for name, chart in (
        ("Wound area by day after the injury", course_chart(file, healing)),
        ("Advance of the wound edge by day after the injury", advance_chart(file, healing)),
    ):
        if chart is not None:
            data = _chart_png(chart) if png else b""
            said = f"{name}. {chart.caption}" if chart.caption else f"{name}."
            yield Picture(name, chart_svg(chart), clean_line(said), data, "chart")


def _chart_png(chart: Chart) -> bytes:
    from fieldnotes.rendering.chart_png import chart_png  # noqa: PLC0415  (an extra)

    return chart_png(chart)


def _photographs(photos: Iterable[tuple[Photo, Callable[[], bytes]]], office: Office) -> Section:
    """Give the photographs, made smaller; one that cannot be read is said in words."""
    shown, lost = [], []
    for number, (photo, read) in enumerate(photos, 1):
        when = moment(photo.when, office)
        words = clean_line(f"photograph {number}, {when}, {photograph_words(photo.picture)}")
        try:
            data = smaller(read(), PHOTO_PX, office.library.limits)
        except FieldnotesError as error:
            lost.append(f"{words[:1].upper()}{words[1:]}: {error}.")
            continue
        source = f"data:image/jpeg;base64,{b64encode(data).decode()}"
        shown.append(Picture(photo.entry, f'<img src="{source}" alt="">', words, data, "photo"))
    return Section("Photographs", tuple(lost), tuple(shown))


def _timeline(case: Case, office: Office) -> Iterator[Section]:
    """Give every entry by the time it took place; an amendment stands below what it amends."""
    amended: dict[str, list[Entry]] = {}
    for entry in case.entries:
        if isinstance(entry.body, Amendment):
            amended.setdefault(entry.body.of, []).append(entry)
    plain = [e for e in case.entries if not isinstance(e.body, Amendment)]
    yield Section("Timeline", (f"{len(plain)} entries, {len(case.amendments)} amendments.",))
    for entry in sorted(plain, key=lambda e: (happened_at(e), e.order)):
        lines = [clean_line(text) for text in texts_of(entry.body)]
        for correction in amended.get(entry.id, ()):
            lines += _amendment(correction, office)
        at = moment(happened_at(entry), office)
        title = f"{at} {title_of(entry)}, {_author(entry, office)}"
        yield Section(title, tuple(x for x in lines if x) or ("Nothing more.",), level=3)


def _amendment(entry: Entry, office: Office) -> Iterator[str]:
    body = entry.body
    if isinstance(body, Amendment):
        at, who = moment(entry.time, office), _author(entry, office)
        yield clean_line(f"AMENDED {at} by {who}: {body.what} Why: {body.why}")
        if body.corrected is not None:
            yield from (clean_line(f"As amended: {text}") for text in texts_of(body.corrected))


def _author(entry: Entry, office: Office) -> str:
    person = office.people.get(entry.author)
    return clean_line(person.name if person else entry.author)


def _signed(case: Case, office: Office) -> Section:
    lines = (
        f"{moment(e.time, office)} {e.kind}, {_author(e, office)}, {e.id}, SHA-256 {e.sha256[:16]}"
        for e in case.entries
    )
    return Section("Entries as signed", tuple(lines))
