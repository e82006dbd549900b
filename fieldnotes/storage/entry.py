"""An entry as a file: canonical JSON with its own hash and the hash before it."""

from __future__ import annotations

import datetime as dt  # noqa: TC003  (msgspec reads the annotation)
import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import msgspec

from fieldnotes.domain.entries import KIND_OF, KINDS, Body, Entry
from fieldnotes.domain.errors import StoreError
from fieldnotes.storage import place
from fieldnotes.storage.strict_json import dumps, loads

if TYPE_CHECKING:
    from collections.abc import Callable

SCHEMA = place.SCHEMA
UPGRADES: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}
"""From the schema named to the next, on reading; files are never rewritten."""


class NewerSchemaError(StoreError):
    """A file written by a newer program: shown as such, never rewritten."""


@dataclass(frozen=True)
class Unwritten:
    """An entry still to be written: its stream, body, author and time of recording."""

    stream: str
    body: Body
    author: str
    time: dt.datetime


@dataclass(frozen=True)
class Envelope:
    """What surrounds a body before it is hashed."""

    device: str
    sequence: int
    clock: int
    time: dt.datetime
    author: str
    stream: str
    previous: str

    @property
    def id(self) -> str:
        """The entry's id: device and sequence."""
        return f"{self.device}-{self.sequence:06d}"


def _hash(document: dict[str, Any]) -> str:
    return hashlib.sha256(dumps(document)).hexdigest()


def encode(envelope: Envelope, body: Body) -> dict[str, Any]:
    """Give the entry's JSON document, hash included."""
    document = {
        "schema": SCHEMA,
        "id": envelope.id,
        "device": envelope.device,
        "sequence": envelope.sequence,
        "clock": envelope.clock,
        "time": envelope.time.isoformat(),
        "author": envelope.author,
        "stream": envelope.stream,
        "kind": KIND_OF[type(body)],
        "body": msgspec.to_builtins(body),
        "previous": envelope.previous,
    }
    return {**document, "sha256": _hash(document)}


def _checked(document: object, name: str) -> dict[str, Any]:
    if not isinstance(document, dict):
        raise StoreError(f"{name}: not an entry")
    schema = document.get("schema")
    if not isinstance(schema, int) or isinstance(schema, bool) or schema < 1:
        raise StoreError(f"{name}: no schema number")
    if schema > SCHEMA:
        raise NewerSchemaError(f"{name}: written by a newer program (schema {schema})")
    claimed = document.get("sha256")
    if claimed != _hash({k: v for k, v in document.items() if k != "sha256"}):
        raise StoreError(f"{name}: the content does not fit its hash")
    return document


def upgraded(document: dict[str, Any]) -> dict[str, Any]:
    """Give a document as the present schema has it, step by step."""
    for schema in range(document["schema"], SCHEMA):
        document = UPGRADES[schema](document)
    return document


def decode(document: object, name: str) -> Entry:
    """Give the entry of a parsed document; StoreError names the file and what is wrong.

    Unknown fields of a later minor version are left alone: the file is never rewritten.
    """
    fields = upgraded(_checked(document, name))
    kind = KINDS.get(str(fields.get("kind")))
    if kind is None:
        raise NewerSchemaError(f"{name}: unknown kind of entry {fields.get('kind')!r}")
    try:
        body: Body = msgspec.convert(fields["body"], kind)
        envelope = msgspec.convert(fields, Envelope)
    except (msgspec.ValidationError, KeyError) as error:
        raise StoreError(f"{name}: {error}") from error
    return Entry(
        id=envelope.id,
        device=envelope.device,
        sequence=envelope.sequence,
        clock=envelope.clock,
        time=envelope.time,
        author=envelope.author,
        stream=envelope.stream,
        body=body,
        previous=envelope.previous,
        sha256=fields["sha256"],
    )


def read_entry(data: bytes, name: str) -> Entry:
    """Give the entry in a file's bytes."""
    return decode(loads(data, name=name), name)
