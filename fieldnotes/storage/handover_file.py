"""A case on its way to a colleague: one zip whose signed header names every part by its hash.

`header.json` has the fields of `Header`; `header.sig` its Ed25519 signature in hexadecimal;
`entries/ID.json` each entry as it stands on disk; `pictures/SHA256` each photograph. Any zip
program opens it. DEVELOPERS.md says what is checked.
"""

from __future__ import annotations

import datetime as dt  # noqa: TC003  (the codec reads the annotation)
import hashlib
import io
import re
import zipfile
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import msgspec

from fieldnotes.domain.entries import REGISTER
from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.domain.patients import (  # noqa: TC001  (the codec reads the annotations)
    Horse,
    Owner,
    Person,
    Premises,
)
from fieldnotes.domain.register import REGISTER_BODIES
from fieldnotes.domain.retention import Purged
from fieldnotes.domain.vials import VIAL_KINDS
from fieldnotes.storage.entry import decode
from fieldnotes.storage.entry_files import file_of, parse_name
from fieldnotes.storage.signing import is_signed
from fieldnotes.storage.strict_json import dumps, loads

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from fieldnotes.domain.entries import Entry

FORMAT: Final = "fieldnotes-handover"
VERSION: Final = 1
MOST_BYTES: Final = 400_000_000
HEADER, SIGNATURE, ENTRIES, PICTURES = "header.json", "header.sig", "entries/", "pictures/"
_EPOCH = (1980, 1, 1, 0, 0, 0)
_DEVICE = _CASE = re.compile(r"[a-z0-9]+")
_NOT_OF_A_CASE = (*REGISTER_BODIES, *VIAL_KINDS.values(), Purged)


@dataclass(frozen=True)
class Header:
    """Who hands over what: every entry (id, SHA-256) and picture (SHA-256), and whom it concerns.

    `heads` is how far each device's chain reached (id, SHA-256 of its newest entry of the case).
    """

    format: str
    version: int
    case: str
    store: str
    practice: str
    by: str
    made: dt.datetime
    key: str
    entries: tuple[tuple[str, str], ...]
    heads: tuple[tuple[str, str], ...]
    pictures: tuple[str, ...]
    horse: Horse
    owners: tuple[Owner, ...]
    premises: tuple[Premises, ...]
    people: tuple[Person, ...]


@dataclass(frozen=True)
class Parcel:
    """A handover file as read and verified; the header's bytes are those signed."""

    header: Header
    signed: bytes
    signature: str
    documents: tuple[dict[str, Any], ...]
    entries: tuple[Entry, ...]
    pictures: Mapping[str, bytes]


def header_bytes(header: Header) -> bytes:
    """Give the bytes a signature is made over."""
    return dumps(msgspec.to_builtins(header))


def packed(
    signed: bytes,
    signature: str,
    documents: Mapping[str, dict[str, Any]],
    pictures: Mapping[str, bytes],
) -> bytes:
    """Give the file."""
    parts = {HEADER: signed, SIGNATURE: signature.encode()}
    parts |= {f"{ENTRIES}{name}.json": dumps(d) for name, d in documents.items()}
    parts |= {f"{PICTURES}{sha256}": data for sha256, data in pictures.items()}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as zipped:
        for name, data in parts.items():
            zipped.writestr(zipfile.ZipInfo(name, _EPOCH), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def is_parcel(data: bytes) -> bool:
    """Whether bytes are a zip, as every handover file is."""
    return data.startswith(b"PK\x03\x04")


def unpacked(data: bytes, name: str) -> Parcel:
    """Read and verify a file; RefusedInputError names the part that was changed or is missing."""
    parts = _parts(data, name)
    signed, signature = parts[HEADER], parts[SIGNATURE].decode("ascii", "replace").strip()
    header = header_of(signed, f"{name}, {HEADER}")
    if not is_signed(header.key, signature, signed):
        raise _changed(name, HEADER, "the signature does not fit: it was changed after signing")
    meant = {HEADER, SIGNATURE, *(f"{ENTRIES}{i}.json" for i, _ in header.entries)}
    meant |= {f"{PICTURES}{sha256}" for sha256 in header.pictures}
    for part in sorted(meant ^ set(parts)):
        why = "was added after signing" if part in parts else "is missing"
        raise _changed(name, part, why)
    documents = tuple(_document(parts, entry, name) for entry in header.entries)
    entries = tuple(
        decode(d, f"{name}, {ENTRIES}{i}.json")
        for d, (i, _) in zip(documents, header.entries, strict=True)
    )
    for sha256 in header.pictures:
        if hashlib.sha256(parts[f"{PICTURES}{sha256}"]).hexdigest() != sha256:
            raise _changed(name, f"{PICTURES}{sha256[:12]}", "the picture was changed")
    for entry in entries:
        if entry.stream != header.case or isinstance(entry.body, _NOT_OF_A_CASE):
            raise _changed(name, f"{ENTRIES}{entry.id}.json", "belongs to another case")
        if not _is_in_its_place(entry):
            raise _changed(name, f"{ENTRIES}{entry.id}.json", "is named as no entry can be")
    pictures = {sha256: parts[f"{PICTURES}{sha256}"] for sha256 in header.pictures}
    return Parcel(header, signed, signature, documents, entries, pictures)


def _is_in_its_place(entry: Entry) -> bool:
    """Whether an entry's own names lead to a file among the entries, and nowhere else."""
    file = file_of(entry)
    device, _, rest = file.name.partition("/")
    return bool(_DEVICE.fullmatch(device)) and parse_name(device, rest.partition("/")[2]) == file


def header_of(data: bytes, place: str) -> Header:
    """Read a header; RefusedInputError names the field that is wrong."""
    try:
        header = msgspec.convert(loads(data, name=place), Header)
    except (msgspec.ValidationError, StoreError) as error:
        raise RefusedInputError("file", f"{place}: {error}") from error
    if header.format != FORMAT or header.version != VERSION:
        raise RefusedInputError("file", f"{place}: {header.format} {header.version} is not read")
    if header.case == REGISTER or not _CASE.fullmatch(header.case):
        raise RefusedInputError("file", f"{place}: '{header.case}' is no reference of a case")
    return header


def _changed(name: str, part: str, why: str) -> RefusedInputError:
    return RefusedInputError("file", f"{name}, {part}: {why}; nothing was taken in")


def _parts(data: bytes, name: str) -> dict[str, bytes]:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as zipped:
            if sum(info.file_size for info in zipped.infolist()) > MOST_BYTES:
                raise RefusedInputError("file", f"{name} is larger than a case can be")
            found = {info.filename: zipped.read(info) for info in zipped.infolist()}
            found[HEADER], found[SIGNATURE]  # both must be there
    except (
        zipfile.BadZipFile, zlib.error, KeyError, ValueError, NotImplementedError, RuntimeError,
        EOFError, OSError,
    ) as error:  # fmt: skip
        raise RefusedInputError("file", f"{name} is no whole handover file ({error})") from error
    return found


def _document(parts: Mapping[str, bytes], entry: tuple[str, str], name: str) -> dict[str, Any]:
    entry_id, sha256 = entry
    part = f"{ENTRIES}{entry_id}.json"
    try:
        document = loads(parts[part], name=f"{name}, {part}")
        found = decode(document, f"{name}, {part}")
    except StoreError as error:
        raise RefusedInputError("file", f"{error}; nothing was taken in") from error
    if (found.id, found.sha256) != (entry_id, sha256):
        raise _changed(name, part, "is not the entry that was signed")
    return dict(document)


def heads_of(entries: tuple[Entry, ...]) -> Iterator[tuple[str, str]]:
    """Give the newest entry of each device, as (id, SHA-256)."""
    newest: dict[str, Entry] = {}
    for entry in sorted(entries, key=lambda e: (e.device, e.sequence)):
        newest[entry.device] = entry
    yield from ((entry.id, entry.sha256) for entry in newest.values())
