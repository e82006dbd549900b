"""Why a day is impossible: the smallest set of stops that cannot be met together, and a cure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING

from fieldnotes.planning.day_bounds import day_bounds
from fieldnotes.planning.day_labels import DaySearch

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldnotes.planning.day import DayProblem

_BEAM = 2_000


@dataclass(frozen=True)
class Conflict:
    """Stops that cannot be met together (none: the break alone is the cause)."""

    stops: tuple[int, ...]
    why: str
    cure: str
    proven: bool = True


def only(p: DayProblem, stops: Iterable[int]) -> DayProblem:
    """Give the day with just these stops, all of which must be served."""
    rows = (0, *sorted(stops))
    place = {row: i for i, row in enumerate(rows)}
    return replace(
        p,
        travel=tuple(tuple(p.travel[i][j] for j in rows) for i in rows),
        service=tuple(p.service[i] for i in rows),
        windows=tuple(p.windows[i] for i in rows),
        skip=(),
        last=tuple(place[i] for i in p.last if i in place),
        first=place.get(p.first) if p.first is not None else None,
        final=place.get(p.final) if p.final is not None else None,
        late_cost=None if p.late_cost is None else tuple(p.late_cost[i] for i in rows),
        minimise="finish",
    )


def _impossible(p: DayProblem, stops: Iterable[int]) -> bool:
    """Tell whether these stops are proven not to fit into one day."""
    part = only(p, stops)
    bounds = day_bounds(part)
    if not bounds.possible:
        return True
    search = DaySearch(part, bounds)
    search.run(_BEAM)
    return search.best is None and not search.cut


def conflict(p: DayProblem) -> Conflict:
    """Name the smallest set of stops that cannot be met; for a day without a plan."""
    must = tuple(j for j in range(1, p.size) if p.penalty(j) is None)
    if p.pause is not None and not _impossible(replace(p, pause=None), must):
        return Conflict((), "no break fits between the stops", "leave the break out or widen it")
    if not _impossible(p, must):
        return Conflict(must, "no plan was found; that none exists is not proven",
                        "leave out one of the stops", proven=False)  # fmt: skip
    for size in (1, 2):
        for some in combinations(must, size):
            if _impossible(p, some):
                return _told(p, some)
    kept = must
    for stop in must:
        fewer = tuple(j for j in kept if j != stop)
        if _impossible(p, fewer):
            kept = fewer
    return _told(p, kept)


def _told(p: DayProblem, stops: tuple[int, ...]) -> Conflict:
    names = " and ".join(str(j) for j in stops)
    if len(stops) == 1:
        (stop,) = stops
        closes, soonest = p.windows[stop][-1][1], p.start + p.travel[0][stop]
        if soonest > closes:
            why = f"stop {stop} is reached at {soonest:g}, it closes at {closes:g}"
            cure = f"arrive {soonest - closes:.0f} min later there, or move it to another day"
            return Conflict(stops, why, cure)
        return Conflict(stops, f"stop {stop} cannot be served and the base reached by {p.end:g}",
                        "end the day later, or move it to another day")  # fmt: skip
    return Conflict(stops, f"stops {names} cannot be met together in any order",
                    "move one of them to another day or widen its hours")  # fmt: skip
