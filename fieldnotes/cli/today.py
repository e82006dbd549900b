"""`fieldnotes today`: the first screen as plain text, one fact a line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldnotes.casework.at_a_glance import coming, raised, set_off
from fieldnotes.cli.command import emit_json
from fieldnotes.cli.due import due_document
from fieldnotes.cli.flags import raised_document
from fieldnotes.cli.opening import data_folder, open_desk
from fieldnotes.cli.route import board_document, loading, stop_document
from fieldnotes.cli.upkeep import backup_age
from fieldnotes.domain.mail import MailState
from fieldnotes.domain.text import clean_line
from fieldnotes.domain.urgency import Urgency

if TYPE_CHECKING:
    import argparse
    import datetime as dt

    from fieldnotes.casework.at_a_glance import Raised
    from fieldnotes.casework.views import Board, DueLine
    from fieldnotes.planning.route_day import PlannedStop
    from fieldnotes.planning.stops import DueStop


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare nothing: it is today, and all of it."""


def run(args: argparse.Namespace) -> int:
    """Print the day at a glance."""
    desk = open_desk(args)
    now, board = desk.now(), desk.road.board_now()
    refs = dict.fromkeys(ref for stop in board.stops for ref in stop.cases)
    flags = raised(desk.file(ref) for ref in refs)
    waiting = sum(letter.state is not MailState.SENT for letter in desk.post.outbox())
    backup = backup_age(data_folder(args), now)
    if args.json:
        emit_json(_document(board, now, flags) | {"outbox": waiting, "backup": backup})
        return 0
    lines = [f"{now:%A} {now.day} {now:%B %Y}, {now:%H:%M}", *_round(board, now)]
    lines += _listed("overdue", [_overdue(line, board.date) for line in board.overdue])
    lines += _listed("flags", [_flag(found) for found in flags])
    lines += _listed("load", [loading(x, board.costs.get(x.item)) for x in board.load])
    print("\n".join((*lines, f"outbox: {waiting} waiting", backup)))
    return 0


def _document(board: Board, now: dt.datetime, flags: tuple[Raised, ...]) -> dict[str, Any]:
    stop = coming(board.route, now)
    known = {s.premises: s for s in board.stops}
    return {
        **board_document(board),
        "now": now.isoformat(timespec="seconds"),
        "next": stop_document(known[stop.stop], stop, board.horses)
        | {"set_off": set_off(stop).isoformat(timespec="seconds")}
        if stop
        else None,
        "overdue": [due_document(line) for line in board.overdue],
        "flags": [raised_document(found) for found in flags],
    }


def _listed(name: str, facts: list[str]) -> list[str]:
    return [f"{name}: {len(facts)}", *(f"  {clean_line(fact)}" for fact in facts)]


def _round(board: Board, now: dt.datetime) -> list[str]:
    route, known = board.route, {s.premises: s for s in board.stops}
    stop = coming(route, now)
    first = "next: no stop is left today"
    if stop is not None:
        first = f"next: {clean_line(known[stop.stop].name)}, leave {set_off(stop):%H:%M}, there "
        first += f"{stop.arrive:%H:%M}"
    proven = "proven" if route.optimal else "not proven"
    day = f"driving: {route.drive_min:.0f} min, {route.drive_km:.0f} km, order {proven}"
    stops = [_stop(known[s.stop], s, board) for s in route.stops]
    left = [f"{known[stop].name}: {why}" for stop, why in (*route.unreached, *route.skipped)]
    back = [f"back: {route.finish:%H:%M}"] if stops else []
    notes = _listed("to note", list(route.notes)) if route.notes else []
    return [first, day, *back, *_listed("stops", stops), *_listed("left out", left), *notes]


def _stop(due: DueStop, planned: PlannedStop, board: Board) -> str:
    names = dict.fromkeys(board.horses.get(t.horse, t.horse) for t in due.tasks)
    words = [f"{planned.arrive:%H:%M} to {planned.leave:%H:%M} {due.name}: {', '.join(names)}"]
    words += [due.urgency.value] if due.urgency is not Urgency.NEXT_VISIT else []
    words += [f"late {planned.late_min:.0f} min"] if planned.late_min >= 1 else []
    words += [f"wait {planned.wait_min:.0f} min"] if planned.wait_min >= 1 else []
    words += ["infected or dirty"] if due.contaminated else []
    words += [planned.note] if planned.note else []
    return "; ".join(words)


def _overdue(line: DueLine, today: dt.date) -> str:
    task = line.task
    where = f" ({', '.join(task.wounds)})" if task.wounds else ""
    days = (today - task.latest).days
    words = [f"{line.horse}, {line.premises}: {task.what}{where}", f"{days} days over"]
    return "; ".join(x for x in (*words, task.reason, task.note) if x)


def _flag(found: Raised) -> str:
    flag = found.flag
    where = f"{found.horse} {found.case}, wound {found.wound}"
    return f"{where}: {found.name}, {flag.urgency.value}; {flag.why}"
