"""`fieldnotes route`: the day's recheck route, or the same solver on a plain table."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Protocol

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import day, open_desk, write_out
from fieldnotes.cli.text import columns
from fieldnotes.domain.text import clean_line
from fieldnotes.rendering.markdown import escape
from fieldnotes.rendering.route_files import RoutePoint, geo_uri, geojson, gpx

if TYPE_CHECKING:
    import argparse
    from collections.abc import Mapping

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Board
    from fieldnotes.clinical.costs import Cost
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.patients import Position
    from fieldnotes.planning.route_day import DayRoute, PlannedStop
    from fieldnotes.planning.supplies import Load


class Visited(Protocol):
    """A place that is visited, with what is done there."""

    @property
    def name(self) -> str:
        """The premises by name."""

    @property
    def position(self) -> Position | None:
        """Where it is, if that is known."""

    @property
    def tasks(self) -> tuple[FollowUp, ...]:
        """What is done there."""


FORMATS = ("text", "markdown", "json", "gpx", "geojson", "calendar", "html", "pdf")
PRINTED = ("html", "pdf")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the day, the format, or a table."""
    parser.add_argument("--date", metavar="D", help="the day (default today)")
    parser.add_argument(
        "--format", choices=FORMATS, default="text", help="html and pdf: the day sheet, to print"
    )
    parser.add_argument("--output", metavar="FILE", help="write here (default stdout)")
    parser.add_argument("--table", metavar="FILE", help="solve this travel table; needs no store")


def run(args: argparse.Namespace) -> int:
    """Plan and print."""
    if args.table is not None:
        from fieldnotes.cli.route_table import run_route_table  # noqa: PLC0415

        return run_route_table(args.table, args.json)
    desk = open_desk(args)
    board = desk.board(day(args.date))
    form = "json" if args.json else args.format
    if form in PRINTED:
        write_out(desk.post.day_sheet(form, board.date), args.output)
        return 0
    if form == "calendar":
        write_out(desk.road.calendar(board.date, points(board, desk)), args.output)
        return 0
    if form == "json" and args.output is None:
        emit_json(board_document(board))
        return 0
    write_out(_document(form, board, desk).encode("utf-8"), args.output)
    return 0


def _document(form: str, board: Board, desk: Casework) -> str:
    title = f"Rechecks {board.date:%d %b %Y}"
    if form == "gpx":
        return gpx(title, points(board, desk))
    if form == "geojson":
        return geojson(title, points(board, desk))
    if form == "json":
        return json.dumps(board_document(board), ensure_ascii=False, indent=2) + "\n"
    return markdown(board) if form == "markdown" else text(board)


def task_document(task: FollowUp, horses: Mapping[str, str]) -> dict[str, Any]:
    """Give one task of a stop."""
    return {
        "case": task.case,
        "horse": horses.get(task.horse, task.horse),
        "wounds": list(task.wounds),
        "what": task.what,
        "due": task.due.isoformat(),
        "latest": task.latest.isoformat(),
    }


def stop_document(due: Visited, planned: PlannedStop, horses: Mapping[str, str]) -> dict[str, Any]:
    """Give one stop of a day, its tasks with it."""
    return {
        "case": list(dict.fromkeys(task.case for task in due.tasks if task.case)),
        "premises": due.name,
        "geo": _geo(due),
        "lat": due.position.lat if due.position else None,
        "lon": due.position.lon if due.position else None,
        "arrive": planned.arrive.isoformat(timespec="seconds"),
        "start": planned.start.isoformat(timespec="seconds"),
        "leave": planned.leave.isoformat(timespec="seconds"),
        "wait_min": planned.wait_min,
        "late_min": planned.late_min,
        "drive_min": planned.drive_min,
        "drive_km": planned.drive_km,
        "slack_min": planned.slack_min,
        "reason": planned.reason,
        "note": planned.note,
        "tasks": [task_document(task, horses) for task in due.tasks],
    }


def _geo(due: Visited) -> str | None:
    """Give the `geo:` link of a stop (RFC 5870), which a phone opens in its own map."""
    return geo_uri(due.position.lat, due.position.lon) if due.position else None


def left_out(
    pairs: tuple[tuple[str, str], ...], known: Mapping[str, Visited]
) -> list[dict[str, str]]:
    """Give the stops that stand in no route, each with why."""
    return [{"premises": known[stop].name, "why": why} for stop, why in pairs]


def board_document(board: Board) -> dict[str, Any]:
    """Give a day's route as design.md section 4 names its keys."""
    route, known = board.route, {s.premises: s for s in board.stops}
    return {
        **route_document(route),
        "stops": [stop_document(known[s.stop], s, board.horses) for s in route.stops],
        "unreached": left_out(route.unreached, known),
        "skipped": left_out(route.skipped, known),
        "load": [load_document(x, board.costs.get(x.item)) for x in board.load],
    }


def load_document(load: Load, cost: Cost | None) -> dict[str, Any]:
    """Give one thing to load, with what it costs where it has a price."""
    priced = {"cost": cost.amount, "currency": cost.currency} if cost else {}
    return {
        "item": load.item,
        "count": load.count,
        "unit": load.unit,
        "in_truck": load.stock,
        "short": load.short,
        "to_leave": load.leave,
        "metres": round(load.metres, 2) or None,
        "stops": list(load.stops),
        "why": list(load.why),
        **priced,
    }


def loading(load: Load, cost: Cost | None) -> str:
    """Give one thing to load as a phrase: how much, of what, what is short, what it costs."""
    said = f" ({cost.amount:,.2f} {cost.currency})" if cost else ""
    short = f" (short of {load.short:g})" if load.short else ""
    return f"{load.said}{short}{said}"


def _loading(board: Board) -> list[str]:
    return [loading(x, board.costs.get(x.item)) for x in board.load]


def route_document(route: DayRoute) -> dict[str, Any]:
    """Give what a route is as a whole."""
    return {
        "date": route.date.isoformat(),
        "start": route.start.isoformat(timespec="seconds"),
        "end": route.end.isoformat(timespec="seconds"),
        "stops": [],
        "drive_min": route.drive_min,
        "drive_km": route.drive_km,
        "finish": route.finish.isoformat(timespec="seconds"),
        "optimal": route.optimal,
        "notes": list(route.notes),
        "break": None
        if route.pause is None
        else [moment.isoformat(timespec="seconds") for moment in route.pause],
    }


def points(board: Board, desk: Casework) -> tuple[RoutePoint, ...]:
    """Give base, stops in order, and base again as route points."""
    known = {s.premises: s for s in board.stops}
    found = []
    for planned in board.route.stops:
        due = known[planned.stop]
        if due.position is not None:
            note = "; ".join(task_text(task, board.horses) for task in due.tasks)
            found.append(
                RoutePoint(
                    name=clean_line(due.name),
                    lat=due.position.lat,
                    lon=due.position.lon,
                    arrive=planned.arrive,
                    leave=planned.leave,
                    note=clean_line(note),
                )
            )
    base = desk.practice().base
    if base is None:
        return tuple(found)
    home = RoutePoint("Base", base.lat, base.lon)
    return (home, *found, home)


def task_text(task: FollowUp, horses: Mapping[str, str]) -> str:
    """Give a task as one phrase: horse, what, wounds."""
    horse = horses.get(task.horse, task.horse)
    wounds = f" ({', '.join(task.wounds)})" if task.wounds else ""
    return f"{horse}: {task.what}{wounds}"


def _signs(planned: PlannedStop) -> str:
    late = f"late {planned.late_min:.0f} min" if planned.late_min >= 1 else ""
    wait = f"wait {planned.wait_min:.0f} min" if planned.wait_min >= 1 else ""
    return ", ".join(sign for sign in (late, wait, planned.reason, planned.note) if sign)


def _rows(board: Board) -> list[tuple[str, ...]]:
    known = {s.premises: s for s in board.stops}
    return [
        (
            f"{p.arrive:%H:%M}",
            f"{p.leave:%H:%M}",
            f"{p.drive_min:.0f} min",
            clean_line(known[p.stop].name),
            "; ".join(task_text(task, board.horses) for task in known[p.stop].tasks),
            _signs(p),
        )
        for p in board.route.stops
    ]


HEADS = ("arrive", "leave", "drive", "premises", "tasks", "why here")
PLACE = HEADS.index("premises")


def _summary(board: Board) -> list[str]:
    route, known = board.route, {s.premises: s for s in board.stops}
    proof = "best possible" if route.optimal else "best found, not proven"
    times = f"leave {route.start:%H:%M}, back {route.finish:%H:%M}"
    lines = [f"{times}, {route.drive_min:.0f} min driving ({proof})"]
    lines += [
        f"not reached: {x['premises']} ({x['why']})" for x in left_out(route.unreached, known)
    ]
    lines += [f"left out: {x['premises']} ({x['why']})" for x in left_out(route.skipped, known)]
    if route.pause:
        lines.append(f"break {route.pause[0]:%H:%M}-{route.pause[1]:%H:%M}")
    return lines + list(route.notes)


def text(board: Board) -> str:
    """Give the day sheet as plain text."""
    if not board.stops:
        return f"{board.date:%d %b %Y}: no visit is due.\n"
    lines = [f"{board.date:%A %d %b %Y}", *_summary(board), "", columns(HEADS, _rows(board))]
    known = {s.premises: s for s in board.stops}
    places = [(clean_line(known[s.stop].name), str(_geo(known[s.stop]))) for s in board.route.stops]
    lines += ["", columns(("premises", "position"), places)]
    return "\n".join([*lines, "", "load:", *(f"  {x}" for x in _loading(board))]) + "\n"


def _linked(board: Board) -> list[list[str]]:
    """Give the rows in markdown, each place a link to its position."""
    rows = [[escape(cell) for cell in row] for row in _rows(board)]
    known = {s.premises: s for s in board.stops}
    for row, planned in zip(rows, board.route.stops, strict=True):
        row[PLACE] = f"[{row[PLACE]}]({_geo(known[planned.stop])})"
    return rows


def markdown(board: Board) -> str:
    """Give the day sheet as a markdown table; names are escaped, so that they stay words."""
    rows = _linked(board)
    table = [f"| {' | '.join(HEADS)} |", "|" + "---|" * len(HEADS)]
    table += [f"| {' | '.join(row)} |" for row in rows]
    load = [f"- {escape(x)}" for x in _loading(board)]
    title = f"# Rechecks {board.date:%A %d %B %Y}"
    summary = [escape(line) for line in _summary(board)]
    return "\n".join([title, "", *summary, "", *table, "", "## Load", "", *load]) + "\n"
