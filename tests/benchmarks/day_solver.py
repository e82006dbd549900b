"""How long the day solver takes to prove a plan: `python day_solver.py [DAYS]`.

Random rural days (60 km square, 2 + 1.35 min per straight-line km, services of 20-45 min, a third
with owner's hours, some with a deadline, some to come last, skip prices, locks, half with a break)
and days of 20 stops that must all be served. Seconds of processor time, so that a busy machine
does not count. Targets: median 0.3 s and p95 1 s; 20 stops median 1 s and p95 3 s.
"""

from __future__ import annotations

import random
import sys
import time
from dataclasses import replace
from math import dist
from statistics import median

from fieldnotes.planning.day import DayProblem, Pause, Sequence
from fieldnotes.planning.day_solver import plan_day
from fieldnotes.planning.day_times import timetable

DAY_MIN = 630.0
SERVICES = (20, 25, 30, 35, 40, 45)


def free_day(rng: random.Random, stops: int) -> DayProblem:
    """Give a day without owners' hours."""
    spots = [(30.0, 30.0), *((rng.uniform(0, 60), rng.uniform(0, 60)) for _ in range(stops))]
    travel = tuple(
        tuple(0.0 if a is b else round(2 + 1.35 * dist(a, b), 1) for b in spots) for a in spots
    )
    service = (0, *(rng.choice(SERVICES) for _ in range(stops)))
    return DayProblem(travel, service, (((0.0, DAY_MIN),),) * (stops + 1), DAY_MIN)


def hours(rng: random.Random) -> tuple[tuple[float, float], ...]:
    """Give one stop's hours: any time, an owner's window, or a deadline."""
    opens, closes = 0.0, DAY_MIN
    if rng.random() < 0.3:
        opens = round(rng.uniform(0, 400), 1)
        closes = min(DAY_MIN, round(opens + rng.uniform(60, 180), 1))
    if rng.random() < 1 / 6:
        closes = min(closes, max(opens + 30, round(rng.uniform(120, 300), 1)))
    return ((opens, closes),)


def rural_day(seed: int, stops: int) -> DayProblem:
    """Give a day with every feature a day can have."""
    rng = random.Random(seed)  # noqa: S311  (a repeatable draw, not a secret)
    day, rows = free_day(rng, stops), range(1, stops + 1)
    return replace(
        day,
        windows=(day.windows[0], *(hours(rng) for _ in rows)),
        skip=(None, *(rng.choice((None, 90.0, 120.0, 180.0, 2000.0)) for _ in rows)),
        last=tuple(j for j in rows if rng.random() < 0.1),
        pause=Pause(240, 390, 30) if rng.random() < 0.5 else None,
        first=rng.randint(1, stops) if rng.random() < 0.1 else None,
        minimise="finish" if rng.random() < 0.2 else "travel",
    )


def full_day(seed: int, stops: int = 20) -> DayProblem:
    """Give a day on which all must be served: hours around a fair tour, so that it can be."""
    rng = random.Random(seed)  # noqa: S311  (a repeatable draw, not a secret)
    day = replace(free_day(rng, stops), windows=(((0.0, 9e9),),) * (stops + 1), day_end=9e9)
    left, order = set(range(1, stops + 1)), [0]
    while left:
        drives, noise = day.travel[order[-1]], {j: rng.uniform(0, 15) for j in sorted(left)}
        order.append(min(sorted(left), key=lambda j: drives[j] + noise[j]))
        left.discard(order[-1])
    clock = timetable(day, Sequence(tuple(order[1:])))
    end = round(clock.finish * 1.05, 1)
    windows = [((0.0, end),)] * (stops + 1)
    for stay in clock.stays:
        if rng.random() < 0.3:
            opens = round(max(0.0, stay.start - rng.uniform(0, 60)), 1)
            windows[stay.stop] = ((opens, round(opens + rng.uniform(61, 180), 1)),)
        elif rng.random() < 1 / 6:
            windows[stay.stop] = ((0.0, round(stay.start + rng.uniform(10, 120), 1)),)
    return replace(day, windows=tuple(windows), day_end=end, last=tuple(order[-2:]))


def report(name: str, days: list[DayProblem]) -> None:
    """Time each day and print what came of it."""
    seconds, proven, impossible = [0.0], 0, 0
    for day in days:
        begun = time.process_time()
        plan = plan_day(day)
        seconds.append(time.process_time() - begun)
        proven += plan is not None and plan.optimal
        impossible += plan is None
    took = sorted(seconds[1:])
    p95 = took[min(len(took) - 1, int(0.95 * len(took)))]
    print(
        f"{name}: {len(took)} days, {proven} proven, {impossible} impossible; "
        f"median {median(took):.3f} s, p95 {p95:.2f} s, longest {took[-1]:.2f} s",
        flush=True,
    )


def main(count: int) -> None:
    """Run both sets."""
    report("rural days of 5-12 stops", [rural_day(seed, 5 + seed % 8) for seed in range(count)])
    report("12 stops, no hours", [_open_day(seed) for seed in range(max(1, count // 20))])
    report("20 stops, all served", [full_day(seed) for seed in range(max(1, count // 20))])


def _open_day(seed: int) -> DayProblem:
    day = free_day(random.Random(seed), 12)  # noqa: S311  (a repeatable draw, not a secret)
    return replace(day, windows=(((0.0, 2000.0),),) * 13, day_end=2000.0)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
