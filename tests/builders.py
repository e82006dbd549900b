"""Records for tests, each with sensible defaults: name only what the test is about.

The invented case starts on DAY0 (a Monday): a horse with one wound on the left hind cannon.
"""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

from fieldnotes.domain.cases import Case, fold
from fieldnotes.domain.entries import (
    Body,
    CaseOpened,
    Entry,
    FollowUpOutcome,
    OwnerReport,
    TaskAdded,
    Visit,
    VisitKind,
    Vitals,
)
from fieldnotes.domain.followups import Doer, FollowUp
from fieldnotes.domain.patients import (
    Horse,
    Owner,
    Party,
    PartyRole,
    Person,
    Position,
    Practice,
    Premises,
    Species,
    Tetanus,
    TetanusHistory,
    Weight,
    WeightMethod,
)
from fieldnotes.domain.treatment import (
    Bandage,
    Care,
    Closure,
    ClosureMethod,
    Device,
    DeviceKind,
    DrugDispensed,
    DrugGiven,
    Layer,
)
from fieldnotes.domain.vials import MoveKind, Vial, VialMove
from fieldnotes.domain.wounds import Amount, Contamination, Finding, Phase, Wound, WoundKind

if TYPE_CHECKING:
    from collections.abc import Iterable

DAY0 = dt.date(2025, 6, 2)
HIND_CANNON = "left.hind.metatarsus.dorsal"
NO_HASH = "0" * 64

PRACTICE_ZONE = "Europe/London"


def day(number: int, start: dt.date = DAY0) -> dt.date:
    """Give the date so many days after the start."""
    return start + dt.timedelta(days=number)


def at(when: dt.date | int = 0, hour: int = 9, minute: int = 0) -> dt.datetime:
    """Give a UTC time on a date, or on a day counted from DAY0."""
    on = day(when) if isinstance(when, int) else when
    return dt.datetime(on.year, on.month, on.day, hour, minute, tzinfo=dt.UTC)


def a_practice(**changes: Any) -> Practice:
    """Give a practice with a base and a weekday calendar."""
    values: dict[str, Any] = {
        "name": "Hill Practice",
        "phone": "01632 960001",
        "zone": PRACTICE_ZONE,
        "emergency_phone": "01632 960002",
        "email": "vets@example.org",
        "base": Position(54.0, -2.0),
    }
    return Practice(**(values | changes))


def a_person(**changes: Any) -> Person:
    """Give a vet."""
    return Person(**({"id": "vet1", "name": "Ada Vet", "licence": "12345"} | changes))


def an_owner(**changes: Any) -> Owner:
    """Give an owner with phone and email."""
    values: dict[str, Any] = {
        "id": "owner1",
        "name": "Olive Owner",
        "phone": "07700 900101",
        "email": "olive@example.org",
    }
    return Owner(**(values | changes))


def a_premises(**changes: Any) -> Premises:
    """Give a place with a position, where someone can be there at any hour."""
    values: dict[str, Any] = {
        "id": "place1",
        "name": "Low Yard",
        "position": Position(54.1, -2.1),
    }
    return Premises(**(values | changes))


def a_horse(*, weight_kg: float | None = 500.0, **changes: Any) -> Horse:
    """Give a horse of known weight, vaccinated against tetanus three months before DAY0."""
    weights = () if weight_kg is None else (Weight(weight_kg, WeightMethod.TAPE, DAY0),)
    values: dict[str, Any] = {
        "id": "horse1",
        "name": "Bramble",
        "species": Species.HORSE,
        "premises": "place1",
        "parties": (Party(PartyRole.OWNER, "owner1"),),
        "born": dt.date(2015, 5, 1),
        "weights": weights,
        "tetanus": Tetanus(TetanusHistory.DATED, dt.date(2025, 3, 1)),
    }
    return Horse(**(values | changes))


def a_wound(label: str = "A", region: str = HIND_CANNON, **changes: Any) -> Wound:
    """Give a laceration."""
    values: dict[str, Any] = {
        "kind": WoundKind.LACERATION,
        "contamination": Contamination.CONTAMINATED,
    }
    return Wound(label, region, **(values | changes))


def a_finding(wound: str = "A", **changes: Any) -> Finding:
    """Give one wound as found: 8 x 3 cm, fresh, a little exudate."""
    values: dict[str, Any] = {
        "length_mm": 80.0,
        "width_mm": 30.0,
        "phase": Phase.FRESH,
        "exudate": Amount.LOW,
    }
    return Finding(wound, **(values | changes))


def a_bandage(dressing: str = "hydrophilic foam dressing", **changes: Any) -> Bandage:
    """Give a full limb bandage in the default build, from the skin outward."""
    layers = (
        Layer("dressing", dressing),
        Layer("retention", "cast-type cotton padding"),
        Layer("padding", "synthetic padding", thickness_cm=2.5),
        Layer("compression", "conforming gauze"),
        Layer("cover", "cohesive bandage"),
    )
    return Bandage(**({"kind": "distal limb", "layers": layers} | changes))


def a_closure(method: ClosureMethod = ClosureMethod.PRIMARY, **changes: Any) -> Closure:
    """Give a closure with non-absorbable skin sutures."""
    return Closure(method, **({"pattern": "simple interrupted", "material": "nylon"} | changes))


def a_care(wound: str = "A", **changes: Any) -> Care:
    """Give what was done for one wound: nothing, unless named."""
    return Care(wound, **changes)


def a_device(kind: DeviceKind = DeviceKind.DRAIN, detail: str = "") -> Device:
    """Give a device placed."""
    return Device(kind, detail)


def a_drug_given(drug: str = "flunixin", **changes: Any) -> DrugGiven:
    """Give a drug given by the vet on DAY0."""
    values: dict[str, Any] = {
        "name": drug.replace("-", " "),
        "route": "IV",
        "amount": 550.0,
        "unit": "mg",
        "at": at(0, 10),
    }
    return DrugGiven(drug, **(values | changes))


def a_vial(**changes: Any) -> Vial:
    """Give a 10 mL vial of butorphanol 10 mg/mL that came in an hour before DAY0's injury."""
    values: dict[str, Any] = {
        "id": "V1",
        "drug": "butorphanol",
        "name": "butorphanol",
        "amount_per_ml": 10.0,
        "unit": "mg",
        "volume_ml": 10.0,
        "batch": "B7",
        "expiry": dt.date(2026, 1, 31),
        "received_at": at(0, 6),
        "received_from": "Wholesaler",
    }
    return Vial(**(values | changes))


def a_move(volume_ml: float = 1.0, **changes: Any) -> VialMove:
    """Give a draw from the vial for a horse on DAY0 at ten."""
    values: dict[str, Any] = {
        "vial": "V1",
        "what": MoveKind.DRAWN,
        "at": at(0, 10),
        "who": "vet1",
        "horse": "horse1",
    }
    return VialMove(volume_ml=volume_ml, **(values | changes))


def a_drug_dispensed(drug: str = "phenylbutazone", **changes: Any) -> DrugDispensed:
    """Give a course left with the owner: twice a day for five days from DAY0 evening."""
    values: dict[str, Any] = {
        "name": drug.replace("-", " "),
        "route": "PO",
        "amount": 1.0,
        "unit": "g",
        "interval_h": 12.0,
        "days": 5.0,
        "starts": at(0, 18),
        "owner_dose": "1 sachet in feed",
    }
    return DrugDispensed(drug, **(values | changes))


def a_visit(when: dt.date | int | dt.datetime = 0, **changes: Any) -> Visit:
    """Give a visit at nine: the first on DAY0, else a recheck."""
    time = when if isinstance(when, dt.datetime) else at(when)
    kind = VisitKind.FIRST if time.date() == DAY0 else VisitKind.RECHECK
    values: dict[str, Any] = {"kind": kind, "vitals": Vitals(temperature_c=37.8)}
    return Visit(at=time, **(values | changes))


def a_report(when: dt.date | int = 1, text: str = "Looks well", **changes: Any) -> OwnerReport:
    """Give an owner's report by phone."""
    return OwnerReport(at(when), "phone", text, **changes)


def an_outcome(key: str, outcome: Any, when: dt.date | int = 1, **changes: Any) -> FollowUpOutcome:
    """Give what became of a follow-up."""
    on = day(when) if isinstance(when, int) else when
    return FollowUpOutcome(key, outcome, on, **changes)


def a_task(
    what: str = "look at the wound", first: int = 1, due: int = 2, last: int = 3
) -> TaskAdded:
    """Give a vet's task set by hand, its window in days from DAY0."""
    return TaskAdded(what, "vet", day(first), day(due), day(last))


def an_entry(
    body: Body,
    number: int = 1,
    *,
    stream: str = "C1",
    time: dt.datetime | None = None,
    device: str = "d1",
    **changes: Any,
) -> Entry:
    """Give a body in its envelope; the number is the entry's place in the logical order."""
    values: dict[str, Any] = {
        "id": f"{device}-{number}",
        "device": device,
        "sequence": number,
        "clock": number,
        "time": time or getattr(body, "at", at(0)),
        "author": "vet1",
        "stream": stream,
        "body": body,
        "previous": NO_HASH,
        "sha256": NO_HASH,
    }
    return Entry(**(values | changes))


def entries(*bodies: Body, stream: str = "C1", first: int = 1) -> tuple[Entry, ...]:
    """Give bodies in envelopes, in the order given."""
    return tuple(an_entry(b, n, stream=stream) for n, b in enumerate(bodies, first))


def an_opening(wounds: Iterable[Wound] = (), **changes: Any) -> CaseOpened:
    """Give the opening of a case: hurt at seven on DAY0, one wound unless others are given."""
    values: dict[str, Any] = {
        "horse": "horse1",
        "premises": "place1",
        "injured_at": at(0, 7),
        "mechanism": "wire fence",
        "responsible": "vet1",
        "wounds": tuple(wounds) or (a_wound(),),
    }
    return CaseOpened(**(values | changes))


def a_case(*bodies: Body, wounds: Iterable[Wound] = (), ref: str = "C1", **opening: Any) -> Case:
    """Give the fold over an opening and the bodies, in the order given.

    The n-th body is the entry "d1-(n+1)"; the opening is "d1-1".
    """
    return fold(ref, entries(an_opening(wounds, **opening), *bodies, stream=ref))


def a_followup(
    what: str = "recheck", first: int = 1, due: int = 2, last: int = 3, **changes: Any
) -> FollowUp:
    """Give an open vet task, its window in days from DAY0."""
    values: dict[str, Any] = {
        "key": f"{what}:A:d1-2",
        "case": "C1",
        "horse": "horse1",
        "premises": "place1",
        "by": Doer.VET,
        "earliest": day(first),
        "due": day(due),
        "latest": day(last),
        "reason": "set in a test",
        "source": "practice default",
        "wounds": ("A",),
    }
    return FollowUp(what=what, **(values | changes))
