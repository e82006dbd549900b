"""What was done to a wound: cleaning, closure, drains, casts, dressings and drugs."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum


@dataclass(frozen=True)
class Lavage:
    """Lavage as carried out; the device is recorded, no pressure is invented."""

    fluid: str
    volume_ml: float | None = None
    percent: float | None = None
    device: str = ""


@dataclass(frozen=True)
class SynovialTest:
    """A distension test or sample of one synovial structure."""

    structure: str
    distended_ml: float | None = None
    leaked: bool | None = None
    cells_per_nl: float | None = None
    neutrophils_percent: float | None = None
    protein_g_per_l: float | None = None
    result: str = ""


class ClosureMethod(StrEnum):
    """How a wound was closed, or left."""

    PRIMARY = "primary closure"
    DELAYED_PRIMARY = "delayed primary closure"
    SECONDARY = "secondary closure"
    PARTIAL = "partial closure"
    SECOND_INTENTION = "second intention"
    GRAFT = "skin graft"


@dataclass(frozen=True)
class Closure:
    """A closure: method, pattern and material; tension sutures come out sooner."""

    method: ClosureMethod
    pattern: str = ""
    material: str = ""
    absorbable: bool = False
    tension_sutures: bool = False


class DeviceKind(StrEnum):
    """What was put in or on and must come out or off again."""

    DRAIN = "drain"
    CAST = "cast"
    BANDAGE_CAST = "bandage cast"
    SPLINT = "splint"


@dataclass(frozen=True)
class Device:
    """A drain, cast or splint placed at a visit."""

    kind: DeviceKind
    detail: str = ""


@dataclass(frozen=True)
class Layer:
    """One bandage layer; layers are given from the skin outward."""

    role: str
    material: str
    thickness_cm: float | None = None
    passes: float | None = None
    note: str = ""


@dataclass(frozen=True)
class Bandage:
    """A bandage: what kind, the layers from the skin outward, how often it is changed.

    `girth_cm` without padding and the `height_cm` covered decide how many rolls it takes.
    `shown` says whether whoever changes it was shown how; None if that was not noted.
    """

    kind: str
    layers: tuple[Layer, ...] = ()
    change_every_days: float | None = None
    changed_by: str = "owner"
    girth_cm: float | None = None
    height_cm: float | None = None
    shown: bool | None = None


@dataclass(frozen=True)
class Care:
    """What was done for one wound at one visit; `removed` names what came out or off."""

    wound: str
    clipped: bool = False
    lavage: Lavage | None = None
    debridement: str = ""
    exploration: str = ""
    synovial_tests: tuple[SynovialTest, ...] = ()
    closure: Closure | None = None
    placed: tuple[Device, ...] = ()
    removed: tuple[str, ...] = ()
    topical: str = ""
    bandage: Bandage | None = None
    bandage_stopped: bool = False
    granulation_trimmed: bool = False
    radiographs: str = ""
    culture: str = ""
    note: str = ""


@dataclass(frozen=True)
class DrugGiven:
    """A drug given at or before the visit, by whomever; it counts in every check.

    `vial` is the mark of the vial of a controlled drug it was drawn from; empty: not booked.
    """

    drug: str
    name: str
    route: str
    amount: float | None
    unit: str
    at: dt.datetime
    per_kg: float | None = None
    volume_ml: float | None = None
    strength: str = ""
    sites: int | None = None
    batch: str = ""
    expiry: dt.date | None = None
    drawn: float | None = None
    wasted: float | None = None
    given_by: str = "vet"
    reason: str = ""
    note: str = ""
    vial: str = ""


@dataclass(frozen=True)
class DrugDispensed:
    """A drug left with the owner: the whole course as the owner will give it."""

    drug: str
    name: str
    route: str
    amount: float | None
    unit: str
    interval_h: float
    days: float
    starts: dt.datetime
    per_kg: float | None = None
    owner_dose: str = ""
    strength: str = ""
    total: str = ""
    batch: str = ""
    expiry: dt.date | None = None
    withdrawal: str = ""
    reason: str = ""
    note: str = ""

    @property
    def ends(self) -> dt.datetime:
        """When the course is over."""
        return self.starts + dt.timedelta(days=self.days)
