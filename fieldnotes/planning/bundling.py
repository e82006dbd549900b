"""The fewest visits to a premises that serve all its open vet tasks within their windows."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.followups import Doer

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from fieldnotes.domain.followups import FollowUp


@dataclass(frozen=True)
class BundledVisit:
    """One visit to one premises on a day, with the tasks it serves."""

    premises: str
    on: dt.date
    tasks: tuple[FollowUp, ...]


def _window(task: FollowUp, today: dt.date) -> tuple[dt.date, dt.date]:
    """Give the days a task can still be done on; one that is overdue is done today."""
    return max(task.earliest, today), max(task.latest, today)


def _days(first: dt.date, last: dt.date) -> tuple[dt.date, ...]:
    return tuple(first + dt.timedelta(days=n) for n in range((last - first).days + 1))


def _best_day(days: Iterable[dt.date], wanted: Callable[[dt.date], bool]) -> dt.date:
    """Give the last wanted day, else the last day."""
    ordered = sorted(days)
    return next((d for d in reversed(ordered) if wanted(d)), ordered[-1])


def bundle(
    tasks: Iterable[FollowUp],
    today: dt.date,
    wanted: Callable[[dt.date], bool] = lambda _: True,
) -> tuple[BundledVisit, ...]:
    """Give the fewest visits to one premises that serve all its vet tasks, by day.

    The visits are the fewest over all days of the windows (the earliest deadline first stabs
    the intervals); each then moves to a day `wanted` (a working day, the owner there) if all
    its tasks allow one, so a day off is used only where a window leaves no other.
    """
    left = sorted(
        (t for t in tasks if t.by is Doer.VET),
        key=lambda t: (_window(t, today)[1], _window(t, today)[0], t.key),
    )
    visits: list[BundledVisit] = []
    while left:
        stab = _window(left[0], today)[1]
        served = [t for t in left if _window(t, today)[0] <= stab]
        first = max(_window(t, today)[0] for t in served)
        day = _best_day(_days(first, stab), wanted)
        visits.append(BundledVisit(served[0].premises, day, tuple(served)))
        left = [t for t in left if t not in served]
    return tuple(visits)


def visits(
    tasks: Iterable[FollowUp], today: dt.date, wanted: Callable[[str, dt.date], bool]
) -> tuple[BundledVisit, ...]:
    """Give the bundled visits of every premises, by day; `wanted` takes premises id and day."""
    by_place: dict[str, list[FollowUp]] = {}
    for task in tasks:
        by_place.setdefault(task.premises, []).append(task)
    found: list[BundledVisit] = []
    for place, own in by_place.items():

        def here(day: dt.date, place: str = place) -> bool:
            return wanted(place, day)

        found += bundle(own, today, here)
    return tuple(sorted(found, key=lambda v: (v.on, v.premises)))
