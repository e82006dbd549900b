"""`fieldnotes due`: follow-ups overdue, due and coming, with windows and reasons."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldnotes.casework.rounds import load_costs
from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import day, open_desk
from fieldnotes.cli.route import loading
from fieldnotes.cli.text import columns
from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    import argparse

    from fieldnotes.casework.views import DueLine


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the day and how far ahead to look."""
    parser.add_argument("--date", metavar="D", help="as of this day (default today)")
    parser.add_argument("--days", metavar="N", type=int, default=7, help="days ahead (default 7)")


def due_document(line: DueLine) -> dict[str, Any]:
    """Give one follow-up as design.md section 4 names its keys."""
    task = line.task
    return {
        "case": task.case,
        "horse": line.horse,
        "premises": line.premises,
        "owner": line.owner,
        "wounds": list(task.wounds),
        "what": task.what,
        "by": task.by.value,
        "earliest": task.earliest.isoformat(),
        "due": task.due.isoformat(),
        "latest": task.latest.isoformat(),
        "state": line.state.value,
        "urgency": task.urgency.value,
        "reason": task.reason,
        "source": task.source,
        "key": task.key,
    }


def run(args: argparse.Namespace) -> int:
    """List the follow-ups."""
    if args.days < 0:
        raise RefusedInputError("--days", "a number of days from 0 is needed")
    desk = open_desk(args)
    on = day(args.date) or desk.today()
    lines, loads = desk.road.due(on, args.days)
    if args.json:
        emit_json([due_document(line) for line in lines])
        return 0
    rows = [_row(line) for line in lines]
    heads = ("state", "window", "by", "horse", "premises", "what", "why")
    print(columns(heads, rows) if rows else "Nothing is due.")
    costs = load_costs(loads, desk.register().prices)
    if loads:
        print(f"\nload for {on:%a %d %b}:")
    for load in loads:
        print(f"  {loading(load, costs.get(load.item))}")
    return 0


def _row(line: DueLine) -> tuple[str, ...]:
    task = line.task
    where = f" ({', '.join(task.wounds)})" if task.wounds else ""
    window = f"{task.earliest:%d %b} - {task.latest:%d %b}"
    what = f"{task.what}{where}"
    return (
        line.state.value,
        window,
        task.by.value,
        line.horse,
        line.premises,
        what,
        task.reason,
    )
