"""Everything as CSV tables: one a kind of record, its columns the fields of the record.

What is a table of its own is left out of the one above it; `case` and `entry` join them.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import types
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from functools import cache
from typing import TYPE_CHECKING, Any, get_args, get_type_hints

import msgspec

from fieldnotes.cli.case import summary_document
from fieldnotes.domain.agreements import Consent, Estimate
from fieldnotes.domain.entries import (
    REGISTER,
    Amendment,
    Death,
    Discharge,
    FlagAnswered,
    FollowUpOutcome,
    Hold,
    Note,
    OwnerReport,
    Referral,
    TaskAdded,
    Transfer,
    Visit,
)
from fieldnotes.domain.followups import FollowUp
from fieldnotes.domain.paperwork import HandoutQueued, HandoutWording
from fieldnotes.domain.patients import Horse, Owner, Party, Person, Practice, Premises, Weight
from fieldnotes.domain.pictures import Measurement, Photograph
from fieldnotes.domain.text import defused
from fieldnotes.domain.treatment import Care, DrugDispensed, DrugGiven
from fieldnotes.domain.wounds import Finding, Wound

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import CaseFile, CaseSummary
    from fieldnotes.domain.cases import Dated

CASES = "cases"
ENTRIES = "entries"
_CASE_HEADS = ("ref", "horse", "owner", "premises", "opened", "status", "wounds")
_ENTRY_HEADS = ("stream", "id", "device", "sequence", "clock", "time", "author", "kind", "text",
                "body", "previous", "sha256")  # fmt: skip


@dataclass(frozen=True)
class Table:
    """A table: the kind of record its rows are, and the columns before the record's own."""

    kind: type
    before: tuple[str, ...] = ()


_SIGNED = ("case", "entry", "recorded", "by", "amended_by")
_SEEN = ("case", "entry", "visit_at")
_REGISTER = {
    "practice": Table(Practice),
    "people": Table(Person),
    "owners": Table(Owner),
    "premises": Table(Premises),
    "horses": Table(Horse),
    "horse_parties": Table(Party, ("horse",)),
    "horse_weights": Table(Weight, ("horse",)),
}
_BODIES = {
    "visits": Visit,
    "reports": OwnerReport,
    "followup_outcomes": FollowUpOutcome,
    "tasks": TaskAdded,
    "flag_answers": FlagAnswered,
    "measurements": Measurement,
    "photographs": Photograph,
    "notes": Note,
    "amendments": Amendment,
    "consents": Consent,
    "estimates": Estimate,
    "handouts": HandoutQueued,
    "wordings": HandoutWording,
    "referrals": Referral,
    "holds": Hold,
    "transfers": Transfer,
    "discharges": Discharge,
    "deaths": Death,
}
_OF_VISITS = {
    "findings": ("findings", Finding),
    "care": ("care", Care),
    "drugs_given": ("given", DrugGiven),
    "drugs_dispensed": ("dispensed", DrugDispensed),
}
_TABLES = {
    **_REGISTER,
    "wounds": Table(Wound, ("case",)),
    **{name: Table(kind, _SIGNED) for name, kind in _BODIES.items()},
    **{name: Table(kind, _SEEN) for name, (_, kind) in _OF_VISITS.items()},
    "followups": Table(FollowUp),
}
_OWN = frozenset(table.kind for table in _TABLES.values())
NAMES = (CASES, *_TABLES, ENTRIES)
Row = tuple[tuple[Any, ...], Any]
"""The cells before a record, and the record."""


def _cell(value: object) -> str:
    """Give a value as a cell; a number is no formula, whatever its sign."""
    match value:
        case None:
            return ""
        case bool():
            return "true" if value else "false"
        case Enum():
            return defused(str(value.value))
        case str():
            return defused(value)
        case int() | float():
            return str(value)
        case dt.date() | dt.time():
            return value.isoformat()
        case tuple() if all(isinstance(item, str | int | float | dt.date) for item in value):
            return defused("; ".join(_cell(item) for item in value))
        case _:
            return json.dumps(msgspec.to_builtins(value), ensure_ascii=False) if value else ""


@cache
def _paths(kind: type) -> tuple[tuple[str, ...], ...]:
    """Give where a record's columns lie in it; those of a record in it follow its name."""
    hints = get_type_hints(kind)
    found: list[tuple[str, ...]] = []
    for field in fields(kind):
        parts = get_args(hints[field.name])
        inner = parts[0] if isinstance(hints[field.name], types.UnionType) else hints[field.name]
        if not _OWN.isdisjoint((inner, *parts)):
            continue
        below = _paths(inner) if is_dataclass(inner) else ((),)  # type: ignore[arg-type]  # a class
        found += [(field.name, *path) for path in below]
    return tuple(found)


def _along(record: object, path: Sequence[str]) -> object:
    for step in path:
        record = getattr(record, step, None)
    return record


def _csv(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> bytes:
    """Write a table after RFC 4180, in UTF-8."""
    out = io.StringIO(newline="")
    csv.writer(out).writerows((heads, *rows))
    return out.getvalue().encode("utf-8")


def _written(table: Table, rows: Iterable[Row]) -> bytes:
    paths = _paths(table.kind)
    heads = (*table.before, *(".".join(path) for path in paths))
    cells = ([*map(_cell, before), *(_cell(_along(of, p)) for p in paths)] for before, of in rows)
    return _csv(heads, cells)


def _of_register(desk: Casework) -> dict[str, list[Row]]:
    register = desk.register()
    practices = [register.practice] if register.practice else []
    horses = register.horses.values()
    return {
        "practice": [((), practice) for practice in practices],
        "people": [((), person) for person in register.people.values()],
        "owners": [((), owner) for owner in register.owners.values()],
        "premises": [((), place) for place in register.premises.values()],
        "horses": [((), horse) for horse in horses],
        "horse_parties": [((horse.id,), party) for horse in horses for party in horse.parties],
        "horse_weights": [((horse.id,), weight) for horse in horses for weight in horse.weights],
    }


def _of_case(file: CaseFile) -> Iterator[tuple[str, Row]]:
    case = file.case
    for wound in case.wounds:
        yield "wounds", ((case.ref,), wound)
    for name, kind in _BODIES.items():
        dated: tuple[Dated[Any], ...] = case.bodies(kind)
        for found in dated:
            entry = found.entry
            signed = (case.ref, entry.id, entry.time, entry.author, found.amended_by)
            yield name, (signed, found.body)
    for visit in case.visits:
        for name, (part, _) in _OF_VISITS.items():
            for item in getattr(visit.body, part):
                yield name, ((case.ref, visit.entry.id, visit.body.at), item)
    for task in file.plan:
        yield "followups", ((), task)


def _case_row(summary: CaseSummary) -> list[str]:
    row = summary_document(summary)
    row["wounds"] = "; ".join(f"{w['label']} {w['region']}" for w in row["wounds"])
    return [defused(str(row[head])) for head in _CASE_HEADS]


def _entry_row(document: dict[str, Any]) -> list[str]:
    known = {**document, "text": document["body"].get("text", "")}
    known["body"] = json.dumps(document["body"], ensure_ascii=False)
    return [_cell(known[head]) for head in _ENTRY_HEADS]


def tables(desk: Casework, only: str = "") -> Iterator[tuple[str, bytes]]:
    """Give every table by its name, or one; what cannot be read joins the desk's problems."""
    summaries = desk.find_cases()
    refs = [summary.ref for summary in summaries]
    if only in ("", CASES):
        yield CASES, _csv(_CASE_HEADS, map(_case_row, summaries))
    if only in ("", *_TABLES):
        rows: dict[str, list[Row]] = {name: [] for name in _TABLES} | _of_register(desk)
        for file in desk.readable(desk.file, refs if only not in _REGISTER else ()):
            for name, row in _of_case(file):
                rows[name].append(row)
        for name in [only] if only else _TABLES:
            yield name, _written(_TABLES[name], rows[name])
    if only in ("", ENTRIES):
        found: Iterator[tuple[dict[str, Any], ...]]
        found = desk.readable(desk.documents, (REGISTER, *refs))
        yield ENTRIES, _csv(_ENTRY_HEADS, (_entry_row(d) for several in found for d in several))
