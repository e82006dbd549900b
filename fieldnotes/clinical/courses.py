"""A course of a drug: when the next doses fall, what it adds up to, what to dispense."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.clinical.dose_limits import ROUNDING
from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    from fieldnotes.clinical.doses import DoseOption


@dataclass(frozen=True)
class Course:
    """Totals of a course; `containers` is None where the pack size is not known."""

    doses: int
    amount: float
    unit: str
    volume_ml: float | None
    units: float | None
    unit_name: str
    containers: int | None


def dose_times(start: dt.datetime, interval_h: float, doses: int) -> tuple[dt.datetime, ...]:
    """Give the times of all doses, in the start's zone, `interval_h` of real time apart.

    Over a change of the clocks the wall time shifts; the horse's interval does not.
    """
    if start.tzinfo is None:
        raise RefusedInputError("start", "a time needs its zone")
    if interval_h <= 0 or doses < 1:
        raise RefusedInputError(
            "interval_h", "an interval above 0 and at least one dose are needed"
        )
    first = start.astimezone(dt.UTC)
    return tuple(
        (first + dt.timedelta(hours=interval_h * i)).astimezone(start.tzinfo) for i in range(doses)
    )


def dose_count(interval_h: float, days: float) -> int:
    """Give how many doses fall into a course of so many days."""
    return max(1, math.ceil(days * 24 / interval_h - ROUNDING))


def course(option: DoseOption, days: float) -> Course:
    """Add up a course of `days`; tablets count as rounded, since that is what is given."""
    doses = option.doses or (dose_count(option.interval_h, days) if option.interval_h else 1)
    each = option.volume_ml if option.volume_ml is not None else option.units_rounded
    each = option.units if each is None else each
    total = (each or 0.0) * doses
    liquid = option.volume_ml is not None
    pack = option.strength.pack
    return Course(
        doses=doses,
        amount=total * option.strength.amount,
        unit=option.unit,
        volume_ml=total if liquid else None,
        units=None if liquid else total,
        unit_name=option.unit_name,
        containers=None if pack is None else math.ceil(total / pack - ROUNDING),
    )
