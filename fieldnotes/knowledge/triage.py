"""What an owner's report may hold, how urgent each sign is, and what may mask it."""

from __future__ import annotations

from dataclasses import dataclass

from fieldnotes.domain.urgency import Urgency
from fieldnotes.knowledge.source import Row, Table, shipped_table


@dataclass(frozen=True)
class Sign:
    """A sign the owner is asked about; infection signs add up."""

    id: str
    ask: str
    urgency: Urgency
    infection: bool
    why: str
    advice: str
    source: str


@dataclass(frozen=True)
class CountRule:
    """How urgent it is from so many infection signs on."""

    least: int
    urgency: Urgency
    why: str
    source: str


@dataclass(frozen=True)
class FeverLimits:
    """From where a rectal temperature means a call, and from where it is urgent."""

    species: str
    age_days: tuple[int, int]
    call_c: float
    urgent_c: float
    source: str


@dataclass(frozen=True)
class Masking:
    """For how long a drug or class may hide fever and lameness."""

    of: str
    hours: float
    source: str


@dataclass(frozen=True)
class Unclear:
    """What a sign counts for, at most, while nobody could tell of it."""

    urgency: Urgency
    why: str
    source: str


@dataclass(frozen=True)
class TriageTables:
    """All of it, with the steps that come before any change of drug."""

    signs: tuple[Sign, ...]
    counts: tuple[CountRule, ...]
    fevers: tuple[FeverLimits, ...]
    masking: tuple[Masking, ...]
    urgent_above_c: float
    unclear: Unclear
    steps: tuple[str, ...]
    then: str
    steps_source: str


def _urgency(row: Row) -> Urgency:
    value = row.text("urgency")
    if value not in set(Urgency):
        raise row.error("urgency", f"one of {', '.join(Urgency)} is needed")
    return Urgency(value)


def _sign(row: Row) -> Sign:
    return Sign(
        id=row.text("id"),
        ask=row.text("ask"),
        urgency=_urgency(row),
        infection=row.flag("infection", default=False),
        why=row.text("why"),
        advice=row.text("advice"),
        source=row.source(),
    )


def _count(row: Row) -> CountRule:
    least = int(row.number("least", least=1))
    return CountRule(least, _urgency(row), row.text("why"), row.source())


def _fever(row: Row) -> FeverLimits:
    low, high = row.pair("age_days")
    call = row.number("call_c", least=36, most=42)
    return FeverLimits(
        species=row.text("species"),
        age_days=(int(low), int(high)),
        call_c=call,
        urgent_c=row.number("urgent_c", least=call, most=43),
        source=row.source(),
    )


def load_triage(table: Table | None = None) -> TriageTables:
    """Read the triage tables."""
    read = table or shipped_table("triage.toml")
    steps, unclear = read.rows("steps")[0], read.rows("unclear")[0]
    return TriageTables(
        signs=tuple(_sign(r) for r in read.rows("sign")),
        counts=tuple(_count(r) for r in read.rows("infection")),
        fevers=tuple(_fever(r) for r in read.rows("fever")),
        masking=tuple(
            Masking(r.text("of"), r.number("hours", least=1), r.source())
            for r in read.rows("masking")
        ),
        urgent_above_c=read.rows("own_fever")[0].number("urgent_above_c", least=0, most=2),
        unclear=Unclear(_urgency(unclear), unclear.text("why"), unclear.source()),
        steps=steps.texts("text"),
        then=steps.text("then"),
        steps_source=steps.source(),
    )
