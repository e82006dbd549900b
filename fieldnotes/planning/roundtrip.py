"""The route of a real day: the plan that keeps all promises, else the one that harms least."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.planning.day import DayPlan, DayProblem, Pause
from fieldnotes.planning.day_bounds import least_over
from fieldnotes.planning.day_solver import MOST_CHOSEN_FROM, better_plan, plan_day, plan_long_day
from fieldnotes.planning.route_clock import RouteClock, route_clock, told
from fieldnotes.planning.route_cure import said

if TYPE_CHECKING:
    from fieldnotes.planning.route_day import Break, DayRoute, Ground, Stop, Workday
    from fieldnotes.planning.travel import Place

# Driving minutes one minute late is worth. Urgent lateness outranks leaving routine stops out,
# which outranks driving; a missed comfort window is the cheapest harm, a broken promise the next;
# a time the vet fixed is kept before either.
LATE_COST = {"now": 100_000.0, "same day": 10_000.0, "routine": 10.0}
PROMISE_COST = 30.0
FIXED_COST = 200.0
OVERTIME_COST = 30.0
NO_BREAK = "no break fits"
NOT_TODAY_COST = 10_000.0  # leaving out what should be seen today, on a day it cannot fit into
_FAR_OVER_MIN = 120.0  # a day proven longer than this over its end is a choice, not a late evening
# Stops beyond which a proof is out of reach and a longer search gains little: where not all fit
# into the day, and where they may.
_MOST_CHOSEN, _MOST_ORDERED = 18, 24
_QUICK_BEAM = 100
_CROWDED_BEAM = 36
_LONG_BEAM = 1_500
_SOFT_BEAM = 20_000  # a day with lateness is bounded less, so its search is kept shorter


def plan_route(
    ground: Ground,
    workday: Workday,
    stops: tuple[Stop, ...],
    *,
    pause: Break | None = None,
    origin: Place | None = None,
    quick: bool = False,
) -> DayRoute:
    """Plan a day from `origin` (default the base) back to the base.

    Every stop stands in exactly one of stops, unreached and skipped. If not all can be on time
    the plan does least harm: urgent lateness first, then stops left out, then driving.
    `pause` is (earliest start, latest start, minutes); it gives way before any stop does.
    `quick` thins the searches, so that a day on the road is replanned under the fingers.
    """
    day, words = chosen_from(route_clock(ground, workday, stops, origin))
    problem, plan, notes = _least_harm(day, pause_of(day, pause), quick=quick)
    notes = (*words, *notes)
    return told(
        day, problem, plan.sequence, optimal=plan.optimal, notes=notes, skipped=plan.skipped
    )


def pause_of(day: RouteClock, pause: Break | None) -> Pause | None:
    """Give a break in the solver's minutes."""
    return None if pause is None else Pause(day.minute(pause[0]), day.minute(pause[1]), pause[2])


def chosen_from(day: RouteClock) -> tuple[RouteClock, tuple[str, ...]]:
    """Let stops of a day far too full be left out, all but those to be seen now or locked."""
    p = day.problem
    over = least_over(p) if day.stops else 0.0
    if p.size - 1 <= MOST_CHOSEN_FROM or over <= _FAR_OVER_MIN:
        return day, ()
    prices = (
        NOT_TODAY_COST if price is None and not s.lock and s.urgency == "same day" else price
        for s, price in zip(day.stops, p.skip[1:], strict=True)
    )
    words = f"more than fits into the day, by {over / 60:.0f} h at least: some are left out"
    return replace(day, problem=replace(p, skip=(None, *prices))), (words,)


def softened(day: RouteClock, p: DayProblem) -> DayProblem:
    """Give the day with every promise at its price instead of kept."""
    costs = (_late_cost(s) for s in day.stops)
    return replace(p, overtime_cost=OVERTIME_COST, late_cost=(0.0, *costs))


def _late_cost(stop: Stop) -> float:
    fixed = FIXED_COST if stop.lock == "at" else 0.0
    return max(LATE_COST[stop.urgency], PROMISE_COST if stop.promised else 0.0, fixed)


def _least_harm(
    day: RouteClock, pause: Pause | None, *, quick: bool
) -> tuple[DayProblem, DayPlan, tuple[str, ...]]:
    """Give the plan that keeps all promises with the break, without it, or harms least."""
    p = day.problem
    missed: tuple[str, ...] = ()
    crowded = _crowded(p)
    if pause is not None and day.stops and least_over(replace(p, skip=())) > 0:
        missed = (NO_BREAK,)  # a stop would be left out even without it
    elif pause is not None and day.stops:
        rested = replace(p, pause=pause)
        plan = _planned(rested, quick=quick)
        if plan is not None and not plan.skipped:
            return rested, plan, ()
        missed = (NO_BREAK,)
    plan = _planned(p, quick=quick)
    if plan is not None and not plan.skipped:
        return p, plan, missed
    beam = _LONG_BEAM if p.size - 1 > MOST_CHOSEN_FROM else _SOFT_BEAM
    beam = _CROWDED_BEAM if crowded else _QUICK_BEAM if quick else beam
    soft = softened(day, p)
    if plan is None:
        soft, relaxed, words = _softly(soft, beam)
        return soft, relaxed, (*missed, *words, said(day, p))
    if crowded:
        return p, replace(plan, optimal=False), missed
    late, proven = better_plan(soft, beam, plan.cost)
    if late is None:  # leaving something out harms least
        return p, replace(plan, optimal=proven), missed
    return soft, late, missed


def _softly(soft: DayProblem, beam: int) -> tuple[DayProblem, DayPlan, tuple[str, ...]]:
    """Plan a day on which every promise has its price; without its locks if they contradict."""
    plan = plan_day(soft, beam)
    if plan is not None:
        return soft, plan, ()
    soft = replace(soft, first=None, final=None, last=())
    plan = plan_day(soft, beam)
    if plan is None:
        raise RefusedInputError("stops", "no order of them can be driven")
    return soft, plan, ("the locks contradict each other and were left out",)


def _crowded(p: DayProblem) -> bool:
    """Tell whether a day has too many stops for more than a short search."""
    stops = p.size - 1
    full = stops > _MOST_CHOSEN and least_over(replace(p, skip=())) > 0
    return full or stops > _MOST_ORDERED


def _planned(p: DayProblem, *, quick: bool) -> DayPlan | None:
    if _crowded(p):
        return plan_long_day(p, _CROWDED_BEAM)
    if p.size - 1 > MOST_CHOSEN_FROM and not quick:
        return plan_long_day(p)
    return plan_day(p, _QUICK_BEAM) if quick else plan_day(p)
