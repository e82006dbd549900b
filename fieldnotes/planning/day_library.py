"""A long day by the routing library: no proof, but a good choice of stops where ours is cut."""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

from fieldnotes.planning.day import EPS, DayPlan, Sequence
from fieldnotes.planning.day_bounds import open_arcs
from fieldnotes.planning.day_times import timetable

if TYPE_CHECKING:
    from fieldnotes.planning.day import DayProblem

_ITERATIONS = 1_500
_SCALE = 10  # whole numbers only: tenths of a minute, rounded up
_SEED = 2


def library_plan(p: DayProblem) -> DayPlan | None:
    """Give the library's plan of a day, None if it is not installed or has none for such a day.

    It knows no break and no lateness; an order it finds is put on our own clock and checked.
    """
    plain = p.pause is None and p.late_cost is None and p.minimise == "travel"
    single = all(len(windows) == 1 for windows in p.windows)
    if find_spec("pyvrp") is None or not plain or not single or p.size < 2:
        return None
    return checked(p, Sequence(_order(p)))


def checked(p: DayProblem, sequence: Sequence) -> DayPlan | None:
    """Give an order as a plan if it keeps every hard rule of the day, else None."""
    order, arcs = sequence.order, open_arcs(p)
    legs = tuple(zip((0, *order), (*order, 0), strict=True)) if order else ()
    left = tuple(j for j in range(1, p.size) if j not in order)
    if any(p.penalty(j) is None for j in left) or any(not arcs[i][j] for i, j in legs):
        return None
    clock = timetable(p, sequence)
    if any(stay.late > EPS for stay in clock.stays) or clock.finish > p.end + EPS:
        return None
    travel = sum(p.travel[i][j] for i, j in legs)
    penalties = sum(p.penalty(j) or 0.0 for j in left)
    return DayPlan(
        sequence=sequence,
        travel=travel,
        finish=clock.finish,
        penalties=penalties,
        cost=travel + penalties,
        optimal=False,
        skipped=left,
    )


def _order(p: DayProblem) -> tuple[int, ...]:
    """Give the order of stops the library finds, with a fixed seed and number of iterations."""
    pyvrp: Any = import_module("pyvrp")  # an extra, so nothing is known of its types
    model, arcs = pyvrp.Model(), open_arcs(p)
    places = [model.add_location(0, 0) for _ in p.travel]
    depot = model.add_depot(places[0])
    for j in range(1, p.size):
        (opens, closes), price = p.windows[j][0], p.penalty(j)
        model.add_client(
            places[j],
            service_duration=_up(p.service[j]),
            tw_early=_up(opens),
            tw_late=int(min(closes, p.end) * _SCALE),
            prize=0 if price is None else _up(price),
            required=price is None,
        )
    model.add_vehicle_type(
        1, start_depot=depot, end_depot=depot, tw_early=_up(p.start), tw_late=int(p.end * _SCALE)
    )
    never = _up(sum(p.penalty(j) or 0.0 for j in range(1, p.size)) + 10_000)
    for i, row in enumerate(p.travel):
        for j, drive in enumerate(row):
            if i != j:
                cost = _up(drive) + (0 if arcs[i][j] else never)
                model.add_edge(places[i], places[j], cost, _up(drive))
    found = model.solve(
        pyvrp.stop.MaxIterations(_ITERATIONS), seed=_SEED, collect_stats=False, display=False
    )
    routes = found.best.routes()
    return tuple(stay.idx + 1 for stay in routes[0] if stay.is_client()) if routes else ()


def _up(value: float) -> int:
    whole = round(value * _SCALE)
    return whole if abs(whole - value * _SCALE) < 1e-6 else int(value * _SCALE) + 1
