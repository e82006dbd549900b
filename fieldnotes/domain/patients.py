"""The register: practice, people who sign, owners, premises and horses."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum

from fieldnotes.domain.mail import MailServer

LANGUAGES = ("en", "de")


@dataclass(frozen=True)
class Position:
    """WGS 84 decimal degrees."""

    lat: float
    lon: float


@dataclass(frozen=True)
class WeeklyWindow:
    """Hours in which someone can be there; `weekday` 0 is Monday, times are local."""

    weekday: int
    opens: dt.time
    closes: dt.time


@dataclass(frozen=True)
class PairDrive:
    """A known drive between two premises ids ("base" is the practice), in minutes."""

    start: str
    end: str
    minutes: float


@dataclass(frozen=True)
class DoseOverride:
    """A dose the practice has set for a drug in place of the published one."""

    drug: str
    route: str
    per_kg: float
    interval_h: float | None
    set_by: str
    reason: str


@dataclass(frozen=True)
class Practice:
    """The practice and its settings; `zone` is an IANA time zone name.

    A break begins from `break_from` to `break_until` (None: none is planned); `most_visits` and
    `most_visit_min` cap one day (None: the day's length alone does). `units` "us" weighs in pounds.
    """

    name: str
    phone: str
    zone: str
    emergency_phone: str = ""
    email: str = ""
    address: str = ""
    base: Position | None = None
    day_start: dt.time = dt.time(7, 30)
    day_end: dt.time = dt.time(18, 0)
    working_days: tuple[int, ...] = (0, 1, 2, 3, 4)
    days_off: tuple[dt.date, ...] = ()
    drive_fixed_min: float = 2.0
    drive_min_per_km: float = 1.35
    known_drives: tuple[PairDrive, ...] = ()
    break_from: dt.time | None = None
    break_until: dt.time | None = None
    break_min: float = 30.0
    most_visits: int | None = None
    most_visit_min: float | None = None
    tetanus_rule_months: int = 6
    units: str = "metric"
    retention_years: int = 7
    confirmed_drugs: tuple[str, ...] = ()
    dose_overrides: tuple[DoseOverride, ...] = ()
    jurisdiction: str = ""
    holiday_region: str = ""
    mail_server: MailServer | None = None
    language: str = ""


class PersonRole(StrEnum):
    """What a person may sign."""

    VET = "vet"
    NURSE = "nurse"


@dataclass(frozen=True)
class Person:
    """Someone who signs entries."""

    id: str
    name: str
    role: PersonRole = PersonRole.VET
    licence: str = ""


@dataclass(frozen=True)
class Owner:
    """A client: owner, keeper, payer or agent of a horse.

    `language` is one of LANGUAGES; empty is the practice's, and empty there is English.
    """

    id: str
    name: str
    phone: str = ""
    email: str = ""
    address: str = ""
    note: str = ""
    language: str = ""


@dataclass(frozen=True)
class Premises:
    """Where horses stand; without a position a stop is listed untimed, never dropped."""

    id: str
    name: str
    address: str = ""
    position: Position | None = None
    access: str = ""
    hours: tuple[WeeklyWindow, ...] = ()


class Species(StrEnum):
    """Decides which formula, dose and limit may be applied at all."""

    HORSE = "horse"
    DONKEY = "donkey"
    MULE = "mule"
    HINNY = "hinny"


class Sex(StrEnum):
    """Sex as recorded."""

    MARE = "mare"
    GELDING = "gelding"
    STALLION = "stallion"
    UNKNOWN = "unknown"


class PartyRole(StrEnum):
    """What a client is to a horse."""

    OWNER = "owner"
    KEEPER = "keeper"
    PAYER = "payer"
    AGENT = "agent"


@dataclass(frozen=True)
class Party:
    """A client's part in a horse, with its dates (None = open)."""

    role: PartyRole
    owner: str
    since: dt.date | None = None
    until: dt.date | None = None


class WeightMethod(StrEnum):
    """How a weight was got."""

    SCALE = "scale"
    TAPE = "tape"
    FORMULA = "formula"
    GUESS = "guess"
    OWNER = "owner"


@dataclass(frozen=True)
class Weight:
    """A body weight and how and when it was got."""

    kg: float
    method: WeightMethod
    on: dt.date


class TetanusHistory(StrEnum):
    """What is known of tetanus vaccination."""

    DATED = "dated"
    NEVER = "never"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class Tetanus:
    """Tetanus history; `last` is the last toxoid dose where the history is dated.

    `finished` says whether that dose ended a course; False: it was the first one only, which
    protects nobody before the second. None: not said.
    """

    history: TetanusHistory = TetanusHistory.UNKNOWN
    last: dt.date | None = None
    finished: bool | None = None


@dataclass(frozen=True)
class OwnLimits:
    """What is normal for an animal none is published for, (low, high) as a vet typed it."""

    temperature_c: tuple[float, float] | None = None
    heart_per_min: tuple[float, float] | None = None
    breaths_per_min: tuple[float, float] | None = None


class FoodChain(StrEnum):
    """Whether the animal may enter the human food chain."""

    INTENDED = "intended"
    EXCLUDED = "excluded"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class Horse:
    """One animal; species is required, everything unknown stays visibly unknown."""

    id: str
    name: str
    species: Species
    premises: str
    parties: tuple[Party, ...] = ()
    build: str = "adult"
    sex: Sex = Sex.UNKNOWN
    born: dt.date | None = None
    breed: str = ""
    colour: str = ""
    markings: str = ""
    microchip: str = ""
    document: str = ""
    weights: tuple[Weight, ...] = ()
    tetanus: Tetanus = Tetanus()
    food_chain: FoodChain = FoodChain.UNKNOWN
    competes: bool = False
    governing_body: str = ""
    allergies: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ()
    foaling_due: dt.date | None = None
    lactating: bool = False
    note: str = ""
    own_limits: OwnLimits = OwnLimits()

    def weight(self) -> Weight | None:
        """Give the latest weight; the later entry wins on one day."""
        return max(self.weights, key=lambda w: w.on) if self.weights else None

    def party(self, role: PartyRole, on: dt.date) -> str | None:
        """Give the client id that holds a role on a day."""
        for party in self.parties:
            after = party.since is None or party.since <= on
            before = party.until is None or on <= party.until
            if party.role is role and after and before:
                return party.owner
        return None

    def age_days(self, on: dt.date) -> int | None:
        """Give the age in days, or None if the birth date is not known."""
        return None if self.born is None else (on - self.born).days

    def status_words(self) -> tuple[str, ...]:
        """Give what treatment must heed: allergies, food chain, competition, pregnancy."""
        due = self.foaling_due
        said = (
            (f"! allergy: {', '.join(self.allergies)}", bool(self.allergies)),
            (f"food chain: {self.food_chain}", self.food_chain is not FoodChain.UNKNOWN),
            (f"competes {self.governing_body}".strip(), self.competes),
            (f"in foal, due {due:%d %b %Y}" if due else "", due is not None),
            ("foal at foot", self.lactating),
        )
        return tuple(words for words, true in said if true)
