"""`fieldnotes rounds`: which visit on which day, for the coming working days."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import open_desk
from fieldnotes.cli.route import left_out, route_document, stop_document, task_text
from fieldnotes.cli.text import columns
from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    import argparse

    from fieldnotes.casework.coming import ComingRounds

MOST_DAYS = 20


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the number of days, or a table."""
    parser.add_argument("--days", metavar="N", type=int, default=5, help="working days (default 5)")
    parser.add_argument("--table", metavar="FILE", help="solve this table; needs no store")


def run(args: argparse.Namespace) -> int:
    """Plan and print."""
    if args.table is not None:
        from fieldnotes.cli.rounds_table import run_rounds_table  # noqa: PLC0415

        return run_rounds_table(args.table, args.json)
    if not 1 <= args.days <= MOST_DAYS:
        raise RefusedInputError("--days", f"1 to {MOST_DAYS} working days can be planned")
    desk = open_desk(args)
    coming, horses = desk.rounds(args.days), {h.id: h.name for h in desk.register().horses.values()}
    if args.json:
        emit_json(document(coming, horses))
    else:
        print(text(coming, horses))
    return 0


def document(coming: ComingRounds, horses: dict[str, str]) -> dict[str, Any]:
    """Give the rounds as design.md section 4 names their keys."""
    known = {v.id: v for v in coming.visits}
    rounds = coming.rounds
    return {
        "days": [
            {
                **route_document(day),
                "stops": [stop_document(known[s.stop], s, horses) for s in day.stops],
                "unreached": left_out(day.unreached, known),
                "skipped": left_out(day.skipped, known),
            }
            for day in rounds.days
        ],
        "unplaced": [
            {
                "case": ", ".join(dict.fromkeys(t.case for t in known[visit].tasks)),
                "premises": known[visit].name,
                "what": "; ".join(task_text(t, horses) for t in known[visit].tasks),
                "why": why,
            }
            for visit, why in rounds.unplaced
        ],
        "done_today": [
            {"premises": v.name, "what": "; ".join(task_text(t, horses) for t in v.tasks)}
            for v in coming.done
        ],
        "free_days": [{"date": f"{day}", "why": why} for day, why in coming.free],
        "drive_min": rounds.drive_min,
        "bound_min": rounds.bound_min,
        "gap_percent": rounds.gap_percent,
        "moved": [
            {"premises": known[visit].name, "told": told.isoformat()}
            for visit, told in rounds.moved
        ],
        "solver": rounds.solver,
        "bound": rounds.proof,
    }


def text(coming: ComingRounds, horses: dict[str, str]) -> str:
    """Give the rounds as plain text, a block a day."""
    known, rounds = {v.id: v for v in coming.visits}, coming.rounds
    lines = []
    for day in rounds.days:
        head = f"{day.date:%A %d %b}"
        if not day.stops:
            lines += [f"{head}: no visit", ""]
            continue
        lines.append(f"{head}: leave {day.start:%H:%M}, back {day.finish:%H:%M}")
        rows = [
            (
                f"  {s.arrive:%H:%M}",
                known[s.stop].name,
                "; ".join(task_text(t, horses) for t in known[s.stop].tasks),
            )
            for s in day.stops
        ]
        lines += [columns(("  arrive", "premises", "tasks"), rows), ""]
    lines += [
        f"done today on the road, not planned again: {v.name}; its visit is not in the record yet"
        for v in coming.done
    ]
    lines += [f"not placed: {known[visit].name} ({why})" for visit, why in rounds.unplaced]
    lines += [f"moved: {known[v].name} was told {told}" for v, told in rounds.moved]
    lines += [f"no round on {day:%a %d %b}: {why}" for day, why in coming.free]
    total = f"{rounds.drive_min:.0f} min driving, at least {rounds.bound_min:.0f} by any plan"
    total += f", gap {rounds.gap_percent:.1f} % of the cost"
    return "\n".join([*lines, f"{total} ({rounds.solver}; {rounds.proof})"])
