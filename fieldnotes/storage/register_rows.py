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


class RegisterRows:
    """Records made of the documents; one whose document is the same object is not made anew."""

    def __init__(self) -> None:
        self._made: dict[str, dict[str, tuple[Any, Any]]] = {}

    def _records(self, known: Documents, kind: str) -> dict[str, Any]:
        made = self._made.get(kind, {})
        now = {}
        for key, document in known.get(kind, {}).items():
            before = made.get(key)
            now[key] = before if before and before[0] is document else _record(kind, document)
        self._made[kind] = now
        return {key: record for key, (_, record) in now.items()}

    def road(self, known: Documents) -> Road:
        """Give what was said on the road, as the documents have it."""
        return road_of({kind: self._records(known, kind) for kind in ROAD_KINDS})

    def register(self, known: Documents) -> Register:
        """Give the register the documents stand for."""
        return Register(
            practice=self._records(known, "practice").get("practice"),
            people=self._records(known, "person"),
            owners=self._records(known, "owner"),
            premises=self._records(known, "premises"),
            horses=self._records(known, "horse"),
            drugs=self._records(known, "drug"),
            prices=self._records(known, "price"),
            rules=self._records(known, "followup_rule"),
            disputes=self._records(known, "dispute"),
            templates=self._records(known, "template"),
        )


def _record(kind: str, document: dict[str, Any]) -> tuple[Any, Any]:
    return document, getattr(msgspec.convert(document, KINDS[kind]), kind)
