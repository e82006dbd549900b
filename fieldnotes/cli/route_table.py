"""`route --table`: the day solver on a plain travel table."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fieldnotes.cli.command import emit_json, say
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.planning.day_solver import plan_day, plan_long_day
from fieldnotes.planning.day_why import conflict
from fieldnotes.planning.tables import day_table, read_table

_MOST_PROVEN = 20  # stops of a table; of more the better of two plans is taken


def table_text(path: str) -> str:
    """Give the text of a table file."""
    try:
        return Path(path).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise RefusedInputError("--table", f"cannot read {path}: {error}") from error


def run_route_table(path: str, as_json: bool) -> int:
    """Plan the day of a table file and print it; 1 with the reason if it is impossible."""
    problem = day_table(read_table(table_text(path)))
    long = problem.size - 1 > _MOST_PROVEN
    plan = plan_long_day(problem) if long else plan_day(problem)
    if plan is None:
        found = conflict(problem)
        say(f"fieldnotes: {found.why}; {found.cure}")
        if as_json:
            emit_json(
                {"infeasible": {"why": found.why, "stops": list(found.stops), "cure": found.cure}}
            )
        return 1
    order = [0, *plan.sequence.order, 0]
    answer: dict[str, Any] = {
        "order": order,
        "travel": plan.travel,
        "finish": plan.finish,
        "late": [],
        "optimal": plan.optimal,
        "served": sorted(plan.sequence.order),
        "skipped": [{"stop": j, "why": _why(problem.penalty(j))} for j in plan.skipped],
        "cost": plan.travel + plan.penalties,
    }
    if as_json:
        emit_json(answer)
        return 0
    print(" ".join(str(stop) for stop in order))
    print(f"travel {plan.travel:g}, finish {plan.finish:g}, cost {answer['cost']:g}")
    for row in answer["skipped"]:
        print(f"left out: {row['stop']} ({row['why']})")
    print("best possible" if plan.optimal else "best found, not proven")
    return 0


def _why(penalty: float | None) -> str:
    return f"serving it would cost more than its penalty {penalty:g}, or no time is left for it"
