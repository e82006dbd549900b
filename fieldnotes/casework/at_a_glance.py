"""The day in a few facts: the next stop and when to leave for it, and the flags that stand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.urgency import Urgency
from fieldnotes.planning.route_clock import minutes_later

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from fieldnotes.casework.views import CaseFile
    from fieldnotes.clinical.flags import Flag
    from fieldnotes.planning.route_day import DayRoute, PlannedStop


@dataclass(frozen=True)
class Raised:
    """A flag that stands unanswered on a wound."""

    case: str
    horse: str
    wound: str
    flag: Flag

    @property
    def name(self) -> str:
        """The flag in words."""
        return self.flag.flag.replace("_", " ")


def raised(files: Iterable[CaseFile]) -> tuple[Raised, ...]:
    """Give the flags of some cases, the most urgent first."""
    found = [
        Raised(file.case.ref, file.horse.name, wound.wound.label, flag)
        for file in files
        for wound in file.wounds
        for flag in wound.flags
    ]
    return tuple(sorted(found, key=lambda r: list(Urgency).index(r.flag.urgency)))


def coming(route: DayRoute, now: dt.datetime) -> PlannedStop | None:
    """Give the stop that is next or lasts at `now`; None when the last one is over."""
    return next((stop for stop in route.stops if stop.leave > now), None)


def set_off(stop: PlannedStop) -> dt.datetime:
    """Give when to leave for a stop, to the nearest second."""
    return minutes_later(stop.arrive, 1 / 120 - stop.drive_min).replace(microsecond=0)
