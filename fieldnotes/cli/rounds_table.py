"""`rounds --table`: which visit on which day, on a plain travel table."""

from __future__ import annotations

from fieldnotes.cli.command import emit_json, say
from fieldnotes.cli.route_table import table_text
from fieldnotes.planning.rounds_solver import solve_rounds
from fieldnotes.planning.rounds_tables import rounds_table
from fieldnotes.planning.tables import read_table


def run_rounds_table(path: str, as_json: bool) -> int:
    """Plan the days of a table file and print them with a bound on what is possible."""
    problem = rounds_table(read_table(table_text(path)))
    plan = solve_rounds(problem)
    least = min(plan.cost, plan.least_cost(problem.unplaced_price))
    if as_json:
        emit_json(
            {
                "days": [list(order) for order in plan.routes],
                "travel": plan.travel,
                "cost": plan.cost,
                "bound": least,
                "gap_percent": plan.gap_percent(problem.unplaced_price),
                "unplaced": list(plan.unplaced),
                "unplaced_price": problem.unplaced_price,
                "solver": plan.solver,
                "proof": plan.proof,
            }
        )
    else:
        for day, order in enumerate(plan.routes):
            print(f"day {day}: {' '.join(str(stop) for stop in order) or '-'}")
        print(f"travel {plan.travel:g}, cost {plan.cost:g}, at least {least:g} ({plan.proof})")
        print(f"unplaced: {' '.join(str(stop) for stop in plan.unplaced) or 'none'}")
    if plan.solver != "PyVRP":
        say(f"fieldnotes: solved by the {plan.solver}")
    return 0
