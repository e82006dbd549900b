"""A case in words for the width there is: who, which wounds, what is planned."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content

from fieldnotes.clinical.measuring import mixed_words
from fieldnotes.domain.body_weight import weight_text
from fieldnotes.domain.followups import Doer
from fieldnotes.planning.anchors import local_date
from fieldnotes.rendering.entry_words import size_words
from fieldnotes.tui.screens.route import URGENCY_SIGN, URGENCY_SLOT, task_line
from fieldnotes.tui.widgets.rows import fitted, wrapped

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.casework.views import CaseFile, WoundFile
    from fieldnotes.clinical.course import Course
    from fieldnotes.domain.followups import FollowUp

DAYS_PER_YEAR = 365.25


def header(file: CaseFile, today: dt.date, width: int) -> Content:
    """Give who the case is about, whom to call, where, and what is not known."""
    lines = [
        fitted(" · ".join(_horse(file, today)), width, "bold"),
        fitted(" · ".join(_people(file)), width),
    ]
    state = [
        _status(file),
        f"day {(today - local_date(file.case.opened.injured_at, file.practice.zone)).days}",
    ]
    state += [file.case.opened.mechanism] if file.case.opened.mechanism else []
    missing = f"? not known: {', '.join(file.missing)}" if file.missing else ""
    words = wrapped(" · ".join(state), 10_000, "$quiet")
    third = Content("   ").join(
        (Content.styled(missing, "bold $due"), words) if missing else (words,)
    )
    return Content("\n").join((*lines, third))


def _horse(file: CaseFile, today: dt.date) -> list[str]:
    """Give who it is; what treatment must heed stands before what a narrow line may cut."""
    horse = file.horse
    words = [horse.name, horse.species.value if horse.species != "horse" else ""]
    words += [horse.sex.value if horse.sex != "unknown" else ""]
    age = horse.age_days(today)
    if age is not None:
        words.append(
            f"{age / DAYS_PER_YEAR:.0f} y" if age > 2 * DAYS_PER_YEAR else f"{age // 30} mo"
        )
    weight = horse.weight()
    if weight is not None:
        weighs = weight_text(weight.kg, file.practice.units)
        words.append(f"{weighs} ({weight.method.value}, {weight.on.day} {weight.on:%b})")
    words += [*horse.status_words(), horse.breed, horse.colour]
    return [w for w in words if w]


def _people(file: CaseFile) -> list[str]:
    words = [file.owner.name, file.owner.phone, file.owner.email] if file.owner else ["no owner"]
    words += [file.premises.name] if file.premises else []
    return [w for w in words if w]


def _status(file: CaseFile) -> str:
    case = file.case
    words = ["on hold"] if case.on_hold else [case.status.value]
    words += [f"referral {case.referred.value}"] if case.referred else []
    words += [f"died: case {file.died_in}"] if file.died_in not in {"", case.ref} else []
    return ", ".join(words)


def wounds_text(file: CaseFile, width: int, *, full: bool) -> Content:
    """Give every wound with its size, course, flags, closure and bandage."""
    blocks = [Content("\n").join(_wound(w, file, width, full=full)) for w in file.wounds]
    return Content("\n\n" if full else "\n").join(blocks)


def _wound(wound: WoundFile, file: CaseFile, width: int, *, full: bool) -> list[Content]:
    name = f"{wound.wound.label}  {wound.region.standard_name}, {wound.wound.kind.value}"
    lines = [wrapped(name, width, "bold")]
    found = wound.last
    size = f"{size_words(found)}, {found.phase.value}" if found else wound.course_problem
    lines.append(wrapped(", ".join((size, *_progress(wound.course))), width, "", 3))
    if mixed := mixed_words(f for _, f in wound.findings):
        lines.append(wrapped(f"~ {mixed}", width, "$due", 3))
    for flag in wound.flags:
        sign, name = URGENCY_SIGN[flag.urgency] or "-", flag.flag.replace("_", " ")
        words = f"{sign} {flag.urgency.value}: {name}"
        lines.append(wrapped(f"{words}. {flag.why}", width, URGENCY_SLOT[flag.urgency], 3))
        if full:
            lines.append(wrapped(f"Source: {flag.source}", width, "$quiet", 5))
    for flag, said in wound.answered:
        words = f"✓ {flag.flag.replace('_', ' ')}: {said.answer}, {said.reason}"
        lines.append(wrapped(words, width, "$quiet", 3))
        if full:
            lines.append(wrapped(f"{flag.why}. Source: {flag.source}", width, "$quiet", 5))
    lines.append(wrapped(_closing(wound, file), width, "$quiet", 3))
    if wound.closure:
        lines.append(wrapped(f"closed by {wound.closure.method.value}", width, "$quiet", 3))
    if wound.devices:
        lines.append(wrapped(f"in place: {', '.join(wound.devices)}", width, "$quiet", 3))
    if wound.bandage:
        lines.append(wrapped(f"bandage: {wound.bandage.kind}", width, "$quiet", 3))
        if full:
            layers = (f"{layer.role}: {layer.material}" for layer in wound.bandage.layers)
            lines += [wrapped(layer, width, "$quiet", 5) for layer in layers]
    return lines


def _progress(course: Course | None) -> list[str]:
    if course is None:
        return []
    last = course.last
    words = [f"{last.area_cm2:.1f} cm2 on day {last.day:g}"]
    if last.reduction_percent is not None and len(course.points) > 1:
        down = last.reduction_percent
        words.append(f"{abs(down):.0f} % {'smaller' if down >= 0 else 'larger'} than at first")
    if last.rate_mm_per_day is not None:
        words.append(f"edge {last.rate_mm_per_day:+.1f} mm a day")
    return words


def _closing(wound: WoundFile, file: CaseFile) -> str:
    course = wound.course
    if course is None:
        return "no course yet"
    if course.healed:
        return "healed"
    if course.closure is None:
        return f"closing day not said: {course.closure_withheld}"
    injured = local_date(file.case.hurt_at(wound.wound.label), file.practice.zone)
    first, likely, last = (
        _day(injured, day)
        for day in (
            course.closure.earliest_day,
            course.closure.likely_day,
            course.closure.latest_day,
        )
    )
    after = "after " if course.closure.open_ended else ""
    return f"closes about {likely} ({first} to {after}{last})"


def _day(injured: dt.date, days: float) -> str:
    day = type(injured).fromordinal(injured.toordinal() + round(days))
    return f"{day.day} {day:%b}" + (f" {day:%Y}" if day.year != injured.year else "")


def plan_text(
    file: CaseFile, today: dt.date, width: int, *, full: bool, gone: tuple[FollowUp, ...] = ()
) -> Content:
    """Give what is planned, most pressing first; large with windows, reasons and sources.

    `gone` is what a hold, a referral or the end of the case has withdrawn.
    """
    if not file.plan:
        lines = [Content.styled("Nothing is due.", "$quiet")]
        lines += [Content.styled("Withdrawn:", "$quiet")] if gone else []
        for t in gone:
            said = f"x {t.what} ({t.by.value}), was due {t.due.day} {t.due:%b}"
            lines.append(wrapped(said, width, "$quiet", 2))
        return Content("\n").join(lines)
    lines = []
    for task in sorted(file.plan, key=lambda t: (t.latest, t.by is Doer.OWNER)):
        lines.append(task_line(task, "", today, width))
        if full:
            window = f"{task.earliest:%d %b} - {task.due:%d %b} - {task.latest:%d %b}"
            reason = ". ".join(x for x in (task.reason, task.note) if x)
            lines.append(wrapped(f"{window}. {reason}. Source: {task.source}", width, "$quiet", 13))
    return Content("\n").join(lines)
