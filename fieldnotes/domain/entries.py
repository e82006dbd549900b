"""The kinds of entry: immutable, signed facts. A correction is a new entry, never an edit."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

from fieldnotes.domain.agreements import Consent, Estimate
from fieldnotes.domain.driving import ROAD_KINDS, RoadBody
from fieldnotes.domain.formulary import FORMULARY_KINDS, FormularyBody
from fieldnotes.domain.paperwork import HandoutQueued, HandoutWording
from fieldnotes.domain.patients import Horse, Owner, Person, Practice, Premises
from fieldnotes.domain.pictures import Measurement, Photograph
from fieldnotes.domain.retention import Purged
from fieldnotes.domain.rulebook import RULE_KINDS, RuleBody
from fieldnotes.domain.treatment import Care, DrugDispensed, DrugGiven
from fieldnotes.domain.urgency import Urgency
from fieldnotes.domain.vials import VIAL_KINDS, VialBody
from fieldnotes.domain.wound_templates import TEMPLATE_KINDS, TemplateBody
from fieldnotes.domain.wounds import Finding, Wound


@dataclass(frozen=True)
class CaseOpened:
    """One injury event of one horse, with the wounds first seen."""

    horse: str
    premises: str
    injured_at: dt.datetime
    injured_about: bool = False
    mechanism: str = ""
    history: str = ""
    responsible: str = ""
    on_call: str = ""
    wounds: tuple[Wound, ...] = ()


@dataclass(frozen=True)
class WoundAdded:
    """A wound found after the case was opened."""

    wound: Wound


class VisitKind(StrEnum):
    """Why the vet came."""

    FIRST = "first visit"
    RECHECK = "recheck"
    BANDAGE_CHANGE = "bandage change"
    SUTURE_REMOVAL = "suture removal"
    DRAIN_REMOVAL = "drain removal"
    CAST = "cast check"
    EMERGENCY = "emergency"


@dataclass(frozen=True)
class Vitals:
    """Vital signs; None = not taken, `not_taken` says why where that matters."""

    temperature_c: float | None = None
    heart_per_min: int | None = None
    breaths_per_min: int | None = None
    crt_s: float | None = None
    hydration: str = ""
    grimace: int | None = None
    not_taken: str = ""


@dataclass(frozen=True)
class Visit:
    """One visit: what was seen, done, given, dispensed and said, per wound.

    `conditions` use the words of the interaction rules; `reckoned` is the calculators' working.
    """

    kind: VisitKind
    at: dt.datetime
    history: str = ""
    vitals: Vitals = Vitals()
    lameness: int | None = None
    lame_limb: str = ""
    findings: tuple[Finding, ...] = ()
    care: tuple[Care, ...] = ()
    given: tuple[DrugGiven, ...] = ()
    dispensed: tuple[DrugDispensed, ...] = ()
    instructions: str = ""
    housing: str = ""
    tasks_done: tuple[str, ...] = ()
    overrides: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ()
    reckoned: str = ""


@dataclass(frozen=True)
class OwnerReport:
    """What an owner reported by phone or in reply, and what the vet decided.

    `unclear` are the signs the owner could not tell of; `gait_normal` None = not known.
    """

    at: dt.datetime
    source: str
    text: str
    signs: tuple[str, ...] = ()
    temperature_c: float | None = None
    last_nsaid_at: dt.datetime | None = None
    urgency: Urgency = Urgency.NEXT_VISIT
    decision: str = ""
    unclear: tuple[str, ...] = ()
    gait_normal: bool | None = None


class Outcome(StrEnum):
    """What became of a follow-up."""

    DONE = "done"
    MOVED = "moved"
    MISSED = "missed"
    CANCELLED = "cancelled"
    NOT_APPLICABLE = "not applicable"


@dataclass(frozen=True)
class FollowUpOutcome:
    """A follow-up done, moved, missed or cancelled; `key` names it, `result` what it showed."""

    key: str
    outcome: Outcome
    on: dt.date
    moved_to: dt.date | None = None
    appointment: dt.datetime | None = None
    told_owner: bool = False
    who: str = ""
    reason: str = ""
    result: str = ""


@dataclass(frozen=True)
class TaskAdded:
    """A follow-up the vet sets by hand."""

    what: str
    by: str
    earliest: dt.date
    due: dt.date
    latest: dt.date
    wounds: tuple[str, ...] = ()
    reason: str = ""


@dataclass(frozen=True)
class FlagAnswered:
    """A raised flag answered with a reason; it returns when the numbers get worse."""

    flag: str
    wound: str
    answer: str
    reason: str
    level: float | None = None
    rule: str = ""


@dataclass(frozen=True)
class Amendment:
    """A correction of one entry: what, why, and the visit as it should read, where it is one."""

    of: str
    what: str
    why: str
    corrected: Visit | None = None


@dataclass(frozen=True)
class Note:
    """Free text added to a case."""

    text: str


class CaseEnd(StrEnum):
    """How a case ends."""

    HEALED = "healed"
    DISCHARGED = "discharged"
    CLOSED = "closed"


@dataclass(frozen=True)
class Discharge:
    """The end of care."""

    end: CaseEnd
    on: dt.date
    text: str = ""


@dataclass(frozen=True)
class Death:
    """The horse died or was euthanased; every task is withdrawn."""

    on: dt.date
    euthanased: bool
    consented_by: str = ""
    method: str = ""
    drug: str = ""
    cause: str = ""


class ReferralState(StrEnum):
    """Where a referral stands."""

    OFFERED = "offered"
    ACCEPTED = "accepted"
    DECLINED = "declined"
    RETURNED = "returned"


@dataclass(frozen=True)
class Referral:
    """A referral offered, accepted, declined, or the horse back from it."""

    state: ReferralState
    on: dt.date
    to: str = ""
    by: str = ""
    told: str = ""


@dataclass(frozen=True)
class Hold:
    """A case put on hold, or taken off it."""

    on_hold: bool
    on: dt.date
    reason: str = ""


@dataclass(frozen=True)
class Transfer:
    """Responsibility handed to another vet."""

    to: str
    on_call: str = ""
    reason: str = ""


@dataclass(frozen=True)
class PracticeSet:
    """The practice and its settings, as they stand from now on."""

    practice: Practice


@dataclass(frozen=True)
class PersonSet:
    """Someone who signs, as they stand from now on."""

    person: Person


@dataclass(frozen=True)
class OwnerSet:
    """A client, as they stand from now on."""

    owner: Owner


@dataclass(frozen=True)
class PremisesSet:
    """A premises, as it stands from now on."""

    premises: Premises


@dataclass(frozen=True)
class HorseSet:
    """A horse, as it stands from now on."""

    horse: Horse


CourseOfCase: TypeAlias = Discharge | Death | Referral | Hold | Transfer | Consent | Estimate
RegisterBody: TypeAlias = PracticeSet | PersonSet | OwnerSet | PremisesSet | HorseSet
Body: TypeAlias = (
    CaseOpened
    | WoundAdded
    | Visit
    | OwnerReport
    | FollowUpOutcome
    | TaskAdded
    | FlagAnswered
    | Amendment
    | Note
    | CourseOfCase
    | HandoutQueued
    | HandoutWording
    | RegisterBody
    | FormularyBody
    | RuleBody
    | TemplateBody
    | VialBody
    | RoadBody
    | Purged
    | Photograph
    | Measurement
)

KINDS: Mapping[str, type[Body]] = {
    "opened": CaseOpened,
    "wound": WoundAdded,
    "visit": Visit,
    "report": OwnerReport,
    "followup": FollowUpOutcome,
    "task": TaskAdded,
    "answer": FlagAnswered,
    "amendment": Amendment,
    "note": Note,
    "discharge": Discharge,
    "death": Death,
    "referral": Referral,
    "hold": Hold,
    "transfer": Transfer,
    "consent": Consent,
    "estimate": Estimate,
    "handout": HandoutQueued,
    "wording": HandoutWording,
    "photograph": Photograph,
    "measurement": Measurement,
    "practice": PracticeSet,
    "person": PersonSet,
    "owner": OwnerSet,
    "premises": PremisesSet,
    "horse": HorseSet,
    **FORMULARY_KINDS,
    **RULE_KINDS,
    **TEMPLATE_KINDS,
    **VIAL_KINDS,
    **ROAD_KINDS,
    "purged": Purged,
}
KIND_OF: Mapping[type[Body], str] = {body: kind for kind, body in KINDS.items()}
REGISTER = "register"


@dataclass(frozen=True)
class Entry:
    """A body in its envelope: who recorded it, when (UTC), in which stream and logical order.

    `stream` is a case reference or REGISTER; `clock` orders entries whatever a wall clock says.
    """

    id: str
    device: str
    sequence: int
    clock: int
    time: dt.datetime
    author: str
    stream: str
    body: Body
    previous: str
    sha256: str

    @property
    def kind(self) -> str:
        """The name of the body's kind."""
        return KIND_OF[type(self.body)]

    @property
    def order(self) -> tuple[int, str, int]:
        """The logical order entries are folded in."""
        return (self.clock, self.device, self.sequence)
