"""The controlled-drug register as a fold: a running balance for each vial, and where it is off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from fieldnotes.domain.cases import Dated
from fieldnotes.domain.vials import VialCorrection, VialCount, VialMove, VialReceived

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from fieldnotes.domain.entries import Entry
    from fieldnotes.domain.vials import Vial

Corrections: TypeAlias = dict[str, list[Dated[VialCorrection]]]
FIGURES = 4  # of a mL: a balance is a sum of decimals, not of their binary rounding


@dataclass(frozen=True)
class VialLine:
    """One entry of a vial with the balance after it, as corrected.

    `difference_ml` stands on counts: found less reckoned. `doubled` is a second receipt under
    the same mark, which adds nothing.
    """

    entry: Entry
    what: str
    at: dt.datetime
    change_ml: float
    balance_ml: float
    difference_ml: float | None = None
    corrections: tuple[Dated[VialCorrection], ...] = ()
    doubled: bool = False

    @property
    def struck(self) -> bool:
        """Whether the last correction took its volume out."""
        return bool(self.corrections) and self.corrections[-1].body.struck


@dataclass(frozen=True)
class Discrepancy:
    """What a vial is off by: first counted so on, and when it last agreed (None: never counted)."""

    volume_ml: float
    seen_at: dt.datetime
    agreed_at: dt.datetime


@dataclass(frozen=True)
class VialAccount:
    """A vial with its entries by the time they took place."""

    vial: Vial
    lines: tuple[VialLine, ...]

    @property
    def balance_ml(self) -> float:
        """What is reckoned to be left."""
        return self.lines[-1].balance_ml

    @property
    def counted(self) -> VialLine | None:
        """The last count."""
        return next((x for x in reversed(self.lines) if x.difference_ml is not None), None)

    @property
    def discrepancy(self) -> Discrepancy | None:
        """How the last count differs from what is reckoned; None while they agree."""
        counts = [x for x in self.lines if x.difference_ml is not None]
        if not counts or not counts[-1].difference_ml:
            return None
        agreed = max((n for n, x in enumerate(counts) if not x.difference_ml), default=-1)
        since = counts[agreed].at if agreed >= 0 else self.lines[0].at
        return Discrepancy(counts[-1].difference_ml, counts[agreed + 1].at, since)


def _corrections(entries: Iterable[Entry]) -> Corrections:
    found: Corrections = {}
    for entry in entries:
        if isinstance(entry.body, VialCorrection):
            found.setdefault(entry.body.of, []).append(Dated(entry, entry.body))
    return found


def vial_of(entry: Entry) -> str:
    """Give the mark of the vial an entry is about, empty for a correction."""
    match entry.body:
        case VialReceived(vial):
            return vial.id
        case VialMove(vial) | VialCount(vial):
            return vial
        case _:
            return ""


def happened(entry: Entry) -> dt.datetime:
    """Give when what an entry tells took place."""
    match entry.body:
        case VialReceived(vial):
            return vial.received_at
        case VialMove() | VialCount() | VialCorrection():
            return entry.body.at
        case _:
            return entry.time


def said_ml(entry: Entry) -> float:
    """Give the volume an entry says, before any correction."""
    body = entry.body
    if isinstance(body, VialReceived):
        return body.vial.volume_ml
    return body.volume_ml if isinstance(body, VialMove | VialCount) else 0.0


def corrected_ml(entry: Entry, corrections: Iterable[Dated[VialCorrection]]) -> float:
    """Give the volume an entry now stands for: the last correction of its volume holds."""
    volume = said_ml(entry)
    for correction in (c.body for c in corrections):
        if correction.struck:
            volume = 0.0
        elif correction.volume_ml is not None:
            volume = correction.volume_ml
    return volume


def _account(vial: Vial, entries: list[Entry], corrected: Corrections) -> VialAccount:
    lines: list[VialLine] = []
    balance, received = 0.0, False
    for entry in sorted(entries, key=lambda e: (happened(e), e.order)):
        by = tuple(corrected.get(entry.id, ()))
        volume, difference, doubled = corrected_ml(entry, by), None, False
        match entry.body:
            case VialReceived():
                doubled, received = received, True
                what, change = "received", 0.0 if doubled else volume
            case VialMove(_, kind):
                what, change = kind.value, -volume
            case _:
                what, change = "counted", 0.0
                if not (by and by[-1].body.struck):
                    difference = round(volume - balance, FIGURES)
        balance = round(balance + change, FIGURES)
        lines.append(
            VialLine(entry, what, happened(entry), change, balance, difference, by, doubled)
        )
    return VialAccount(vial, tuple(lines))


def fold_vials(entries: Iterable[Entry]) -> tuple[VialAccount, ...]:
    """Fold the register's entries, in any order given; the vials as they came in."""
    ordered = sorted(entries, key=lambda e: e.order)
    vials: dict[str, Vial] = {}
    for entry in ordered:
        if isinstance(entry.body, VialReceived):
            vials.setdefault(entry.body.vial.id, entry.body.vial)
    corrected = _corrections(ordered)
    return tuple(
        _account(vial, [e for e in ordered if vial_of(e) == mark], corrected)
        for mark, vial in vials.items()
    )


@dataclass(frozen=True)
class PeriodAccount:
    """A vial over some days: what it held before them, the entries in them, what it holds after."""

    account: VialAccount
    opening_ml: float
    lines: tuple[VialLine, ...]
    closing_ml: float


def period(account: VialAccount, start: dt.date, end: dt.date, zone: dt.tzinfo) -> PeriodAccount:
    """Give a vial's part of a period, both days included, by the days of a zone."""
    days = [(line.at.astimezone(zone).date(), line) for line in account.lines]
    before = [line for day, line in days if day < start]
    inside = tuple(line for day, line in days if start <= day <= end)
    opening = before[-1].balance_ml if before else 0.0
    closing = inside[-1].balance_ml if inside else opening
    return PeriodAccount(account, opening, inside, closing)
