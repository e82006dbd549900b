"""Solvers for many days behind one interface: a routing library, or our own plain heuristic."""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

from fieldnotes.planning.rounds_insertion import ruin_and_recreate

if TYPE_CHECKING:
    from fieldnotes.planning.rounds import RoundsProblem, RoundsSolver, Routes

_ITERATIONS = 1_200
_DECIMALS = (1, 10, 100, 1000)


def chosen_solver() -> tuple[RoundsSolver, str]:
    """Give the best solver installed and its name."""
    if find_spec("pyvrp") is not None:
        return iterated_search, "PyVRP"
    return ruin_and_recreate, "plain heuristic (the extra 'routes' is not installed)"


def _scale(p: RoundsProblem) -> int:
    numbers = [x for row in p.travel for x in row]
    numbers += [*p.service, *(x for window in p.windows for x in window)]
    return next(
        (s for s in _DECIMALS if all(abs(x * s - round(x * s)) < 1e-9 for x in numbers)), 1000
    )


def iterated_search(p: RoundsProblem, seed: int) -> Routes:
    """Solve with PyVRP: one vehicle type and one cost profile per day, fixed iterations.

    Whole numbers only: times are scaled, and rounded up where three decimals do not do.
    """
    pyvrp: Any = import_module("pyvrp")  # an extra, so nothing is known of its types
    s, placed = _scale(p), seed % 2 == 0  # even seeds insist that every visit is placed
    model = pyvrp.Model()
    places = [model.add_location(0, 0) for _ in p.travel]
    depot = model.add_depot(places[0])
    price = _up(p.unplaced_price, s)
    for j in p.visits:
        opens, closes = p.windows[j]
        insisted = placed and any(late is not None for late in p.penalty[j])
        model.add_client(
            places[j],
            service_duration=_up(p.service[j], s),
            tw_early=_up(opens, s),
            tw_late=_down(closes, s),
            prize=0 if insisted else price,
            required=insisted,
            delivery=[1, _up(p.service[j], s)],
        )
    for day in p.days:
        profile = model.add_profile()
        end = min(p.day_ends[day], p.windows[0][1])
        model.add_vehicle_type(
            1,
            start_depot=depot,
            end_depot=depot,
            profile=profile,
            tw_early=_up(p.windows[0][0], s),
            tw_late=_down(end, s),
            capacity=_caps(p, s),
        )
        for i, row in enumerate(p.travel):
            for j, drive in enumerate(row):
                late = p.penalty[j][day] if j else 0.0
                cost = 4 * price if late is None else _up(drive + late, s)
                if i != j:
                    model.add_edge(places[i], places[j], cost, _up(drive, s), profile)
    result = model.solve(
        pyvrp.stop.MaxIterations(_ITERATIONS), seed=seed, collect_stats=False, display=False
    )
    found: list[tuple[int, ...]] = [() for _ in p.days]
    for route in result.best.routes():
        found[route.vehicle_type()] = tuple(stay.idx + 1 for stay in route if stay.is_client())
    return tuple(found)


def _caps(p: RoundsProblem, scale: int) -> list[int]:
    """Give the most visits and minutes of a day; all there are where there is no cap."""
    visits = len(p.visits) if p.most_visits is None else p.most_visits
    everything = sum(p.service) + 1
    return [visits, _down(everything if p.most_service is None else p.most_service, scale)]


def _up(value: float, scale: int) -> int:
    return int(-(-value * scale + 1e-6) // 1) if value * scale % 1 > 1e-6 else round(value * scale)


def _down(value: float, scale: int) -> int:
    return int(value * scale + 1e-6)
