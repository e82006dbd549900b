"""What past rounds teach: the minutes a task really takes, in place of the table's."""

from __future__ import annotations

from dataclasses import replace
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldnotes.domain.driving import Stay
    from fieldnotes.knowledge.service import Service, Services

FEWEST_STAYS = 5
_LEAST_MIN = 1.0


def learned(services: Services, stays: tuple[Stay, ...]) -> Services:
    """Give the table with the median of the logged stays, for each kind logged five times.

    Only a stop with one kind of task tells how long that kind takes.
    """
    return replace(
        services, services=tuple(_learned(services, s, stays) for s in services.services)
    )


def _learned(services: Services, service: Service, stays: tuple[Stay, ...]) -> Service:
    alone = [
        s.minutes - services.stop_min - services.horse_min * s.horses
        for s in stays
        if s.kinds == (service.kind,)
    ]
    if len(alone) < FEWEST_STAYS:
        return service
    minutes = max(_LEAST_MIN, median(alone))
    return replace(service, minutes=minutes, source=f"median of {len(alone)} logged visits")
