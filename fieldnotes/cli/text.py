"""Plain text of lists and records, cleaned once more before it reaches a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.closing_time import seen_words
from fieldnotes.clinical.measuring import mixed_words
from fieldnotes.domain.body_weight import weight_text
from fieldnotes.domain.text import clean, clean_line

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence

    from fieldnotes.casework.views import CaseFile, WoundFile
    from fieldnotes.domain.cases import Dated
    from fieldnotes.domain.entries import Visit


def local(moment: dt.datetime, now: dt.datetime) -> dt.datetime:
    """Give a moment in the zone of `now`."""
    return moment.astimezone(now.tzinfo)


def columns(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Lay rows out in columns as wide as their widest cell."""
    table = [list(heads), *[[clean_line(cell) for cell in row] for row in rows]]
    widths = [max(len(row[i]) for row in table) for i in range(len(heads))]
    lines = (
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in table
    )
    return "\n".join(lines)


def plain(number: float) -> str:
    """Give a figure without an exponent, thousands apart: 10,050,000 or 2.2."""
    return f"{number:,.0f}" if number == round(number) else f"{number:,.2f}".rstrip("0")


def show_case(file: CaseFile, now: dt.datetime) -> str:
    """Give a case as text: who, wounds, plan and every entry's gist."""
    case, horse = file.case, file.horse
    weight = horse.weight()
    weighs = weight_text(weight.kg, file.practice.units) if weight else ""
    about = ", ".join(
        part
        for part in (
            horse.species.value,
            horse.sex.value,
            horse.breed,
            horse.colour,
            f"{weighs} ({weight.method.value}, {weight.on:%d %b %Y})" if weight else "",
        )
        if part
    )
    place = file.premises.name if file.premises else case.opened.premises
    owner = f"{file.owner.name} {file.owner.phone}" if file.owner else "owner not known"
    lines = [
        f"{case.ref}  {horse.name} ({about})  {case.status.value}"
        + ("  on hold" if case.on_hold else ""),
        f"{owner}, {place}",
        f"injured {local(case.opened.injured_at, now):%d %b %Y %H:%M}: {case.opened.mechanism}",
        seen_words(case),
    ]
    if told := horse.status_words():
        lines.append("; ".join(told))
    if file.missing:
        lines.append(f"missing: {', '.join(file.missing)}")
    for wound in file.wounds:
        lines += ["", *_wound_lines(wound)]
    if file.plan:
        lines += ["", "plan"]
        lines += [
            f"  {t.earliest:%d %b} - {t.latest:%d %b}  {t.by.value:<5}  {t.what}  ({t.reason})"
            for t in file.plan
        ]
    lines += ["", "record"]
    for visit in case.visits:
        lines += _visit_lines(visit, now)
    lines += [f"  {n.entry.time:%d %b %Y}  note: {n.body.text}" for n in case.notes]
    return clean("\n".join(lines))


def _wound_lines(wound: WoundFile) -> list[str]:
    lines = [f"{wound.wound.label}  {wound.region.standard_name}  {wound.wound.kind.value}"]
    if wound.course is not None:
        last = wound.course.last
        lines.append(f"   {last.area_cm2:.1f} cm2 on day {last.day:g}, {last.phase}")
    elif wound.course_problem:
        lines.append(f"   {wound.course_problem}")
    if mixed := mixed_words(f for _, f in wound.findings):
        lines.append(f"   {mixed}")
    lines += [f"   {line}" for line in _worn(wound)]
    lines += [f"   ! {flag.flag} ({flag.urgency}): {flag.why}" for flag in wound.flags]
    lines += [f"   {flag.flag}, answered {a.answer}: {a.reason}" for flag, a in wound.answered]
    return lines


def _worn(wound: WoundFile) -> Iterator[str]:
    """Give how a wound is closed, what is in it or on it, and its bandage."""
    if wound.closure is not None:
        yield f"closed by {wound.closure.method.value}"
    if wound.devices:
        yield f"in place: {', '.join(wound.devices)}"
    if wound.bandage is not None:
        every = wound.bandage.change_every_days
        yield f"bandage: {wound.bandage.kind}" + (f", changed every {every:g} d" if every else "")


def _visit_lines(visit: Dated[Visit], now: dt.datetime) -> list[str]:
    body = visit.body
    head = f"  {local(body.at, now):%d %b %Y %H:%M}  {body.kind.value}"
    lines = [head + (f"  (amended by {visit.amended_by})" if visit.amended_by else "")]
    lines += [
        f"    given {d.name} {plain(d.amount)} {d.unit} {d.route}"
        for d in body.given
        if d.amount is not None
    ]
    if body.instructions:
        lines.append(f"    {body.instructions}")
    if body.reckoned:
        lines.append(f"    reckoned: {body.reckoned}")
    return lines
