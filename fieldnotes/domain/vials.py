"""Vials of controlled drugs: what came in, went out, was counted, and what corrects an entry."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True)
class Vial:
    """One container of a controlled drug; `amount_per_ml` in `unit` (mg or IU)."""

    id: str
    drug: str
    name: str
    amount_per_ml: float
    unit: str
    volume_ml: float
    batch: str
    expiry: dt.date
    received_at: dt.datetime
    received_from: str
    reason: str = ""


class MoveKind(StrEnum):
    """How a volume left a vial."""

    DRAWN = "drawn"
    WASTED = "wasted"
    RETURNED = "returned"
    DESTROYED = "destroyed"
    LOST = "lost"


@dataclass(frozen=True)
class VialReceived:
    """A vial taken into stock."""

    vial: Vial


@dataclass(frozen=True)
class VialMove:
    """A volume that left a vial, by whom and for what.

    A draw names its case and horse; `visit` and `item` name the dose it was booked for (the
    entry of the visit and the number among the drugs given there). `to` is whom it went to.
    """

    vial: str
    what: MoveKind
    volume_ml: float
    at: dt.datetime
    who: str
    case: str = ""
    horse: str = ""
    visit: str = ""
    item: int | None = None
    witness: str = ""
    to: str = ""
    reason: str = ""


@dataclass(frozen=True)
class VialCount:
    """What was found in a vial when the stock was counted."""

    vial: str
    volume_ml: float
    at: dt.datetime
    who: str
    witness: str = ""
    note: str = ""


@dataclass(frozen=True)
class VialCorrection:
    """A correction of one entry of the register, which stays readable beside it.

    `volume_ml` is what the entry should say (None: its volume stands); `struck` takes its volume
    out altogether; `text` corrects any other part in words.
    """

    of: str
    why: str
    who: str
    at: dt.datetime
    volume_ml: float | None = None
    struck: bool = False
    text: str = ""


VialBody: TypeAlias = VialReceived | VialMove | VialCount | VialCorrection
VIAL_KINDS: Mapping[str, type[VialBody]] = {
    "vial": VialReceived,
    "vial_move": VialMove,
    "vial_count": VialCount,
    "vial_correction": VialCorrection,
}
