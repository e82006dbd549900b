"""The register as the index holds it: the latest document of each kind and id."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import msgspec

from fieldnotes.domain.driving import ROAD_KINDS
from fieldnotes.domain.entries import KIND_OF, KINDS
from fieldnotes.domain.register import Register, road_of
from fieldnotes.domain.vials import VIAL_KINDS
from fieldnotes.storage.index import PURGED

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldnotes.domain.driving import Road
    from fieldnotes.domain.entries import Entry

VIALS = "vials"  # where the index keeps which files hold the controlled-drug register
Documents = dict[str, dict[str, Any]]


def merge_register(register: Documents, entries: Iterable[Entry]) -> None:
    """Take entries of the register in; the logically latest wins."""
    for entry in sorted(entries, key=lambda e: e.order):
        kind = KIND_OF[type(entry.body)]
        if kind in VIAL_KINDS:
            register.setdefault(VIALS, {})[entry.id] = [entry.device, entry.sequence]
            continue
        document = msgspec.to_builtins(entry.body)
        key = _key(kind, document)
        if key:
            register.setdefault(kind, {})[key] = document


def _key(kind: str, document: dict[str, Any]) -> str:
    if kind == PURGED:
        return str(document["case"])
    return "practice" if kind == "practice" else str(document.get(kind, {}).get("id", ""))


def _records(known: Documents, kind: str) -> dict[str, Any]:
    found = known.get(kind, {})
    return {key: getattr(msgspec.convert(body, KINDS[kind]), kind) for key, body in found.items()}


def road_rows(known: Documents) -> Road:
    """Give what was said on the road, as the documents have it."""
    return road_of({kind: _records(known, kind) for kind in ROAD_KINDS})


def register_of(known: Documents) -> Register:
    """Give the register the documents stand for."""
    return Register(
        practice=_records(known, "practice").get("practice"),
        people=_records(known, "person"),
        owners=_records(known, "owner"),
        premises=_records(known, "premises"),
        horses=_records(known, "horse"),
        drugs=_records(known, "drug"),
        prices=_records(known, "price"),
        rules=_records(known, "followup_rule"),
        disputes=_records(known, "dispute"),
        templates=_records(known, "template"),
    )
