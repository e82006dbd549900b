"""Everything the owner's handout says, reckoned from the record: no layout, no markup."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    import datetime as dt


@dataclass(frozen=True)
class DayRow:
    """One line of the table of who does what."""

    day: dt.date
    when: str
    who: str
    what: str


@dataclass(frozen=True)
class LayerLine:
    """One bandage layer, counted from the skin outward."""

    number: int
    material: str
    note: str


@dataclass(frozen=True)
class BandageSheet:
    """One bandage as the owner builds it."""

    wound: str
    kind: str
    layers: tuple[LayerLine, ...]
    change: str


@dataclass(frozen=True)
class Purchase:
    """Something to buy and how many."""

    item: str
    number: int


@dataclass(frozen=True)
class MedicineLabel:
    """A dispensed drug as the text of its label; unknown fields are empty."""

    animal: str
    owner: str
    drug: str
    strength: str
    dose: str
    route: str
    often: str
    days: str
    total: str
    batch: str
    expiry: str
    withdrawal: str
    vet: str
    date: str
    note: str


@dataclass(frozen=True)
class Picture:
    """A picture on a paper: markup for a page, words for who cannot see it, bytes for the rest.

    The bytes are a PNG, of a photograph a JPEG.
    """

    name: str
    svg: str
    alt: str
    png: bytes = b""
    kind: Literal["map", "layers", "chart", "photo"] = "map"
    called: str = "Picture"

    @property
    def layers(self) -> bool:
        """Whether it shows a bandage's layers."""
        return self.kind == "layers"

    @property
    def words(self) -> str:
        """The words that stand where it stands."""
        return f"{self.called}: {self.alt}"


@dataclass(frozen=True)
class AftercareSheet:
    """The handout for one case on one day; every text is plain, nothing is markup."""

    case: str
    horse: str
    owner: str
    premises: str
    practice: str
    practice_address: str
    phone: str
    emergency_phone: str
    vet: str
    date: dt.date
    happened: tuple[str, ...]
    done: tuple[str, ...]
    three: tuple[str, ...]
    now: tuple[str, ...]
    today: tuple[str, ...]
    normal_temperature: str
    days: tuple[DayRow, ...]
    bandages: tuple[BandageSheet, ...]
    purchases: tuple[Purchase, ...]
    bandage_notes: tuple[str, ...]
    mistakes: tuple[str, ...]
    cast: tuple[str, ...]
    ointments: tuple[str, ...]
    ointment_notes: tuple[str, ...]
    cleaning: tuple[str, ...]
    healing: tuple[str, ...]
    rest: tuple[str, ...]
    instructions: tuple[str, ...]
    medicines: tuple[MedicineLabel, ...]
    medicine_notes: tuple[str, ...]
    walk: tuple[str, ...]
    teach_back: tuple[str, ...]
    missing: tuple[str, ...]
    pictures: tuple[Picture, ...] = ()
    standing: tuple[str, ...] = ()
    language: str = "en"
    title: str = ""
    day: str = ""
