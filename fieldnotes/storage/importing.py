"""The import form: a register or a case as a list of entries, dated from the day of import.

`sample_cases/README.md` describes it, `data/import-schema.json` is its JSON Schema.
"""

from __future__ import annotations

import datetime as dt  # noqa: TC003  (the shaping reads the annotation)
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from fieldnotes.domain.entries import KINDS, Body
from fieldnotes.domain.retention import Purged
from fieldnotes.knowledge.limits import load_limits
from fieldnotes.storage.import_checks import check_case, check_register
from fieldnotes.storage.import_references import numbered
from fieldnotes.storage.import_shapes import Frame, nearest, record, refused
from fieldnotes.storage.strict_json import loads

if TYPE_CHECKING:
    from collections.abc import Container
    from zoneinfo import ZoneInfo

REGISTER_FORMAT: Final = "fieldnotes-register"
CASE_FORMAT: Final = "fieldnotes-case"
FORMATS: Final = (REGISTER_FORMAT, CASE_FORMAT)
VERSION: Final = 1
_CASE_REF = re.compile(r"[2-9a-hjkmnp-z]{3,12}", re.ASCII)


@dataclass(frozen=True)
class ImportedEntry:
    """An entry read from a file; references to other entries of the file read "#N"."""

    at: dt.datetime
    author: str
    body: Body


@dataclass(frozen=True)
class ImportFile:
    """A file as read: the register, or one case by its reference, with entries in time order."""

    format: str
    case: str
    entries: tuple[ImportedEntry, ...]
    name: str = ""


@dataclass(frozen=True)
class _Document:
    format: str
    version: int
    entries: tuple[Any, ...]
    case: str = ""
    about: str = ""


@dataclass(frozen=True)
class _Envelope:
    by: str
    kind: str
    body: Any
    day: int | None = None
    time: str = ""
    at: dt.datetime | None = None
    label: str = ""


def _header(data: bytes, name: str, frame: Frame) -> _Document:
    found = record(loads(data, name=name), _Document, name, frame)
    if found.format not in FORMATS:
        hint = nearest(found.format, FORMATS)
        raise refused(f"{name}, format", f"{found.format!r} is not read here; {hint}")
    if found.version != VERSION:
        raise refused(f"{name}, version", f"version {found.version} is not read, only {VERSION}")
    if found.format == CASE_FORMAT and not _CASE_REF.fullmatch(found.case):
        raise refused(f"{name}, case", "a reference of 3 to 12 letters and digits, no 0 1 i l o")
    if found.format == REGISTER_FORMAT and found.case:
        raise refused(f"{name}, case", "the register is not a case")
    return found


def _recorded(envelope: _Envelope, place: str, frame: Frame) -> dt.datetime:
    if envelope.at is not None:
        if envelope.day is not None or envelope.time:
            raise refused(f"{place}, at", "either day and time, or at")
        return envelope.at
    if envelope.day is None or not envelope.time:
        raise refused(f"{place}, day", "when it was recorded: day and time, or at")
    try:
        return frame.moment(frame.date(str(envelope.day)), envelope.time)
    except ValueError as error:
        raise refused(f"{place}, time", str(error)) from error


def _with_times(body: object, at: dt.datetime, kind: str) -> object:
    """Give a visit's or report's document with the times it leaves out."""
    if not isinstance(body, dict) or kind not in {"visit", "report"}:
        return body
    timed = {"at": at.isoformat(), **body}
    given = timed.get("given")
    if isinstance(given, list):
        timed["given"] = [{"at": timed["at"], **g} if isinstance(g, dict) else g for g in given]
    return timed


def _entry(document: object, place: str, frame: Frame) -> tuple[ImportedEntry, str]:
    """Give an entry and the label the file has for it."""
    envelope = record(document, _Envelope, place, frame)
    kind = KINDS.get(envelope.kind)
    if kind is None or kind is Purged:
        hint = nearest(envelope.kind, tuple(KINDS))
        raise refused(f"{place}, kind", f"{envelope.kind!r} is no kind of entry; {hint}")
    at = _recorded(envelope, place, frame)
    if not envelope.by:
        raise refused(f"{place}, by", "an entry is signed by someone")
    if at.astimezone(frame.zone).date() > frame.today:
        raise refused(f"{place}, day", "an entry cannot be recorded in the future")
    timed = _with_times(envelope.body, at, envelope.kind)
    body = record(timed, kind, f"{place} ({envelope.kind})", frame)
    return ImportedEntry(at, envelope.by, body), envelope.label


def _entries(document: _Document, name: str, frame: Frame) -> tuple[ImportedEntry, ...]:
    """Give the entries in the file's order; each may name only entries before it."""
    labels: dict[str, int] = {}
    found: list[ImportedEntry] = []
    for number, item in enumerate(document.entries, 1):
        place = f"{name}, entry {number}"
        entry, label = _entry(item, place, frame)
        if found and entry.at < found[-1].at:
            raise refused(place, "recorded before the entry above it")
        if label in labels:
            raise refused(place, f"the label {label!r} stands twice")
        found.append(replace(entry, body=numbered(entry.body, labels, number, place)))
        if label:
            labels[label] = number
    return tuple(found)


def read_import(
    data: bytes,
    name: str,
    today: dt.date,
    zone: ZoneInfo,
    regions: Container[str] | None = None,
) -> ImportFile:
    """Read one file of the import form, all or nothing.

    `day` and "@-12" count from `today`, local times are of `zone`; regions are checked if given.
    RefusedInputError or JsonRefusedError names file, place and reason.
    """
    frame = Frame(today, zone, load_limits())
    document = _header(data, name, frame)

    def place(number: int) -> str:
        return f"{name}, entry {number + 1}"

    entries = _entries(document, name, frame)
    bodies = tuple(e.body for e in entries)
    if document.format == CASE_FORMAT:
        check_case(bodies, tuple(e.at for e in entries), place, regions)
    else:
        check_register(bodies, place)
    return ImportFile(document.format, document.case, entries, name)
