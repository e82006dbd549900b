"""The day's route in words: rows of stops, what is done at each, and what the day comes to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.content import Content

from fieldnotes.casework.at_a_glance import coming, set_off
from fieldnotes.domain.driving import StopState
from fieldnotes.domain.followups import Doer, State
from fieldnotes.domain.urgency import Urgency
from fieldnotes.tui.widgets.rows import Row, fitted, joined, wrapped

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping

    from fieldnotes.casework.views import Board, DueLine
    from fieldnotes.domain.driving import StopMark
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.patients import Premises
    from fieldnotes.planning.route_day import PlannedStop
    from fieldnotes.planning.stops import DueStop

URGENCY_SIGN = {Urgency.NOW: "!!", Urgency.SAME_DAY: "!", Urgency.NEXT_VISIT: ""}
URGENCY_SLOT = {
    Urgency.NOW: "bold $overdue",
    Urgency.SAME_DAY: "bold $due",
    Urgency.NEXT_VISIT: "$quiet",
}
STOP, TASK = "stop:", "task:"


@dataclass(frozen=True)
class DayStop:
    """A stop of the day with its place on the clock, if it has one."""

    number: int
    due: DueStop
    planned: PlannedStop | None
    why_not: str
    horses: tuple[str, ...]
    mark: StopMark | None = None


def day_stops(board: Board) -> tuple[DayStop, ...]:
    """Give the stops as they are driven, what is behind first, what cannot be reached last."""
    due = {stop.premises: stop for stop in board.stops}
    behind = [(stop, None, "") for stop in board.marks]
    driven = [(p.stop, p, "") for p in board.route.stops]
    left = [(stop, None, why) for stop, why in (*board.route.unreached, *board.route.skipped)]
    return tuple(
        DayStop(
            n,
            due[stop],
            planned,
            why,
            _horses(due[stop].tasks, board.horses),
            board.marks.get(stop),
        )
        for n, (stop, planned, why) in enumerate([*behind, *driven, *left], 1)
        if stop in due
    )


def _horses(tasks: Iterable[FollowUp], names: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(names.get(t.horse, t.horse) for t in tasks))


def signs(stop: DayStop, today: dt.date) -> tuple[tuple[str, str], ...]:
    """Give what to beware of at a stop, each as words with its style, the gravest first."""
    if stop.mark is not None:
        done = stop.mark.state is StopState.DONE
        return (("✓ done", "$done") if done else ("● there", "bold $primary"),)
    found: list[tuple[str, str]] = []
    urgency = stop.due.urgency
    if urgency is not Urgency.NEXT_VISIT:
        found.append((f"{URGENCY_SIGN[urgency]} {urgency.value}", URGENCY_SLOT[urgency]))
    over = max(((today - t.latest).days for t in stop.due.tasks), default=0)
    if over > 0:
        found.append((f"! {over} d over", "$overdue"))
    if stop.planned is None:
        found.append(("? untimed", "bold $due"))
    elif stop.planned.late_min >= 1:
        found.append((f"! late {stop.planned.late_min:.0f} min", "bold $overdue"))
    elif stop.planned.wait_min >= 1:
        found.append((f"~ wait {stop.planned.wait_min:.0f} min", "$due"))
    if stop.due.contaminated:
        found.append(("* infected", "$contaminated"))
    return tuple(found)


def route_rows(board: Board, width: int) -> tuple[Row, ...]:
    """Give the stops as aligned rows under one heading."""
    stops = day_stops(board)
    if not stops:
        return (Row(Content.styled("No visit is due today.", "$quiet")),)
    room = max(width - 26, 24)
    sign, place = min(40, room * 46 // 100), room * 30 // 100
    sizes = (place, room - sign - place, sign)
    names = ("Place", "Horses", "Signs")
    head = [fitted("#", 2, right=True), fitted("Arrive", 6), fitted("Leave", 6), fitted("Drive", 6)]
    head += [fitted(name, size) for name, size in zip(names, sizes, strict=True)]
    rows = [Row(joined(head, " ").stylize("bold $quiet"))]
    rows += [Row(_stop_row(s, sizes, board), STOP + s.due.premises) for s in stops]
    rows += [Row(wrapped(f"! {note}", width, "$due")) for note in board.route.notes]
    return tuple(rows)


def _clock(stop: DayStop, zone: dt.tzinfo | None) -> tuple[str, str, str]:
    """Give when a stop is or was reached and left, and the drive to it."""
    if stop.planned is not None:
        told: tuple[dt.datetime | None, ...] = (stop.planned.arrive, stop.planned.leave)
        drive = f"{stop.planned.drive_min:.0f} min"
    else:
        told, drive = (stop.mark.arrived, stop.mark.left) if stop.mark else (None, None), ""
    arrive, leave = (f"{t.astimezone(zone):%H:%M}" if t else "--:--" for t in told)
    return arrive, leave, drive


def _stop_row(stop: DayStop, sizes: tuple[int, int, int], board: Board) -> Content:
    clock = _clock(stop, board.route.start.tzinfo)
    place, horses, sign = sizes
    return joined(
        (
            fitted(str(stop.number), 2, right=True),
            fitted(clock[0], 6, "bold"),
            fitted(clock[1], 6),
            fitted(clock[2], 6, "$quiet", right=True),
            fitted(stop.due.name, place, "bold"),
            fitted(", ".join(stop.horses), horses),
            _signs_cell(signs(stop, board.date), sign),
        ),
        " ",
    )


def _signs_cell(found: tuple[tuple[str, str], ...], width: int) -> Content:
    """Give as many signs as fit, and say how many did not."""
    parts: list[Content] = []
    used = 0
    for i, (words, style) in enumerate(found):
        rest = len(found) - i - 1
        need = len(words) + (2 if parts else 0)
        if used + need + (3 if rest else 0) > width and parts:
            parts.append(Content.styled(f"+{rest + 1}", "$quiet"))
            break
        parts.append(Content.styled(words, style))
        used += need
    return Content("  ").join(parts)


def next_lines(board: Board, now: dt.datetime, width: int) -> Content:
    """Give the next stop and when to leave for it, and what the day comes to."""
    stops = [s for s in day_stops(board) if s.planned]
    route = board.route
    planned = coming(route, now)
    stop = next((s for s in stops if s.planned is planned), None)
    if planned is None or stop is None:
        first = Content.styled("No stop is left today.", "bold")
    else:
        first = _next(stop, set_off(planned), now)
    lost = len(route.unreached) + len(route.skipped)
    gone = sum(mark.state is StopState.DONE for mark in board.marks.values())
    words = [f"{len(stops)} stops" if len(stops) != 1 else "1 stop"]
    words = [f"{gone} done", f"{len(stops)} to go"] if board.marks else words
    words += [f"{lost} left out"] if lost else []
    words += [f"back {route.finish:%H:%M}"] if stops else []
    words += [f"{_hours(route.drive_min)} driving", f"{route.drive_km:.0f} km"]
    words += ["order proven" if route.optimal else "order not proven"]
    second = fitted("  ·  ".join(words), width, "$quiet")
    return Content("\n").join((first, second))


def _next(stop: DayStop, leave: dt.datetime, now: dt.datetime) -> Content:
    arrive = stop.planned.arrive if stop.planned else leave
    parts = [Content.styled("Next  ", "$quiet"), fitted_free(stop.due.name, "bold $primary")]
    parts.append(Content.styled(f"  {', '.join(stop.horses)}", ""))
    if leave <= now < arrive:
        parts.append(
            Content.styled(f"   on the road since {leave:%H:%M}, there {arrive:%H:%M}", "bold")
        )
    elif arrive <= now:
        parts.append(Content.styled(f"   planned there since {arrive:%H:%M}", "bold"))
    else:
        ahead = _hours((leave - now).total_seconds() / 60)
        parts.append(Content.styled(f"   leave {leave:%H:%M}", "bold"))
        parts.append(Content.styled(f" (in {ahead}), there {arrive:%H:%M}", ""))
    return Content("").join(parts)


def fitted_free(text: str, style: str) -> Content:
    """Give one line of record text at its own width."""
    return wrapped(text.replace("\n", " "), 10_000, style)


def _hours(minutes: float) -> str:
    whole = round(minutes)
    return f"{whole // 60} h {whole % 60:02d} min" if whole >= 60 else f"{whole} min"


def stop_rows(stop: DayStop, place: Premises | None, board: Board, width: int) -> tuple[Row, ...]:
    """Give what is done at a stop, why it matters, and how to get in."""
    lines = [_detail_head(stop, width)]
    if stop.why_not:
        lines.append(wrapped(f"? not on the route: {stop.why_not}", width, "$due"))
    if place is not None and place.access:
        lines.append(wrapped(f"Access: {place.access}", width, "$quiet"))
    if stop.planned is not None and stop.planned.note:
        lines.append(wrapped(f"* {stop.planned.note}", width, "$contaminated"))
    rows = [Row(line) for line in lines]
    for task in sorted(stop.due.tasks, key=lambda t: t.latest):
        head = task_line(task, board.horses.get(task.horse, ""), board.date, width)
        why = wrapped(". ".join(x for x in (task.reason, task.note) if x), width, "$quiet", 13)
        rows.append(Row(Content("\n").join((head, why)), f"{TASK}{task.case}:{task.key}"))
    return tuple(rows)


def _detail_head(stop: DayStop, width: int) -> Content:
    hours = ", ".join(f"{a:%H:%M}-{b:%H:%M}" for a, b in stop.due.windows)
    words = [stop.due.name, f"{stop.due.service_min:.0f} min there"]
    words += [f"open {hours}"] if hours else []
    words += [f"because: {stop.planned.reason}"] if stop.planned else []
    return fitted("  ·  ".join(words), width, "bold")


def task_state(task: FollowUp, today: dt.date) -> tuple[str, str]:
    """Give a task's state as ten cells of words, and their style."""
    state = task.state(today)
    if state is State.OVERDUE:
        days = (today - task.latest).days
        return f"! {days} d over", "bold $overdue"
    if state is State.DUE and task.latest == today:
        return "due today", "bold $due"
    if state is State.DUE:
        return f"by {task.latest.day} {task.latest:%b}", "$due"
    return f"from {task.earliest.day} {task.earliest:%b}", "$quiet"


def task_line(task: FollowUp, horse: str, today: dt.date, width: int) -> Content:
    """Give one task on one line: state, horse, what, by whom."""
    words, style = task_state(task, today)
    who = 11 if horse else 0
    what = task.what if task.by is Doer.VET else f"{task.what}  [owner]"
    parts = [fitted(words, 11, style)]
    parts += [fitted(horse, who, "bold")] if horse else []
    parts.append(fitted(what, max(width - 13 - (who + 2 if who else 0), 10)))
    return joined(parts)


def overdue_rows(lines: Iterable[DueLine], today: dt.date, width: int) -> tuple[Row, ...]:
    """Give what is overdue with why it matters, the longest first."""
    rows = []
    for line in sorted(lines, key=lambda x: x.task.latest):
        why = wrapped(f"{line.premises}: {line.task.reason}", width - 1, "$quiet", 13)
        text = Content("\n").join((task_line(line.task, line.horse, today, width), why))
        rows.append(Row(text, f"{TASK}{line.task.case}:{line.task.key}"))
    return tuple(rows) or (Row(Content.styled("Nothing is overdue.", "$done")),)


def load_text(board: Board, width: int, *, full: bool, workings: bool = False) -> Content:
    """Give what to load, a line an item; in full with its stops, or with how it was reckoned."""
    lines = []
    for load in board.load:
        cost = board.costs.get(load.item)
        item = f"{load.item}, {cost.amount:,.2f} {cost.currency}" if cost else load.item
        item += f", {load.leave:g} to leave" if load.leave else ""
        short = f"! short of {load.short:g}: " if load.short else ""
        whom = f"  · {', '.join(load.stops)}" if full and not workings else ""
        words = fitted(f"{short}{item}{whom}", width - 11, "bold $overdue" if short else "")
        lines.append(joined((fitted(load.amount, 9, right=True), words)))
        if workings:
            told = (", ".join(load.stops), "; ".join(load.why))
            lines += [wrapped(text, width, "$quiet", 11) for text in told if text]
    if lines and full and not workings:
        lines.append(Content.styled("= shows how each was reckoned", "$quiet"))
    return Content("\n").join(lines) if lines else Content.styled("Nothing to load.", "$quiet")
