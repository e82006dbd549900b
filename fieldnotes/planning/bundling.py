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


def _wanted_window(
    task: FollowUp, today: dt.date, wanted: Callable[[dt.date], bool]
) -> tuple[dt.date, dt.date] | None:
    """Give the first and the last wanted day of a task's window; None if it holds none."""
    first, last = _window(task, today)
    days = (first + dt.timedelta(days=n) for n in range((last - first).days + 1))
    good = [day for day in days if wanted(day)]
    return (good[0], good[-1]) if good else None


def _stabbed(windows: Iterable[tuple[FollowUp, tuple[dt.date, dt.date]]]) -> list[BundledVisit]:
    """Give the fewest visits that stab all windows: the earliest deadline first."""
    left = sorted(windows, key=lambda w: (w[1][1], w[1][0], w[0].key))
    found: list[BundledVisit] = []
    while left:
        on = left[0][1][1]
        served = tuple(task for task, (first, _) in left if first <= on)
        found.append(BundledVisit(served[0].premises, on, served))
        left = [w for w in left if w[1][0] > on]
    return found


def bundle(
    tasks: Iterable[FollowUp],
    today: dt.date,
    wanted: Callable[[dt.date], bool] = lambda _: True,
) -> tuple[BundledVisit, ...]:
    """Give the fewest visits to one premises that serve all its vet tasks, by day.

    A task goes on a day `wanted` (a working day, the owner there) of its window; one whose window
    holds none keeps its day off, and takes no other task along to it.
    """
    own = [t for t in tasks if t.by is Doer.VET]
    good = [(t, w) for t in own if (w := _wanted_window(t, today, wanted))]
    placed = {t.key for t, _ in good}
    bad = [(t, _window(t, today)) for t in own if t.key not in placed]
    return tuple(sorted((*_stabbed(good), *_stabbed(bad)), key=lambda v: v.on))


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
