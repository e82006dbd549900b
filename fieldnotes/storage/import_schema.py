"""The JSON Schema of the import form, made from the records; `data/import-schema.json` is its text.

A test keeps the file the same as what is made here.
"""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import is_dataclass
from typing import TYPE_CHECKING, Any, Final, get_args, get_type_hints

import msgspec

from fieldnotes.domain.entries import KIND_OF, KINDS, OwnerReport, Visit
from fieldnotes.domain.retention import Purged
from fieldnotes.domain.treatment import DrugGiven
from fieldnotes.storage.import_checks import REGISTER_BODIES
from fieldnotes.storage.import_shapes import OFFSET

if TYPE_CHECKING:
    from collections.abc import Iterator

DATE: Final = rf"^({OFFSET}|\d{{4}}-\d\d-\d\d)$"
MOMENT: Final = rf"^({OFFSET}T\d\d:\d\d|\d{{4}}-\d\d-\d\dT\d\d:\d\d.*)$"
_FORMS: Final = {
    dt.date: (DATE, 'an ISO date, or "@-12": that many days from the day of import'),
    dt.datetime: (MOMENT, 'an ISO date-time, or "@-12T09:40" in the practice\'s zone'),
    dt.time: (r"^\d\d:\d\d(:\d\d)?$", "a local time"),
}
_TIMED: Final = (Visit, OwnerReport, DrugGiven)


def _records(kind: object) -> Iterator[type]:
    """Give the records a kind is made of, itself included."""
    if isinstance(kind, type) and is_dataclass(kind):
        yield kind
        for hint in get_type_hints(kind).values():
            yield from _records(hint)
    for part in get_args(kind):
        yield from _records(part)


def _field(schema: dict[str, Any], hint: object) -> dict[str, Any]:
    """Give a field's schema with our forms of date and time."""
    form = next((f for kind, f in _FORMS.items() if kind in (hint, *get_args(hint))), None)
    if form is None:
        return schema
    text = {"type": "string", "pattern": form[0], "description": form[1]}
    if "anyOf" in schema:
        return {**schema, "anyOf": [text, {"type": "null"}]}
    return text


def _record(schema: dict[str, Any], kind: type) -> dict[str, Any]:
    """Give a record's schema in the import form: no unknown field, times that may be left out."""
    hints = get_type_hints(kind)
    fields = {name: _field(found, hints[name]) for name, found in schema["properties"].items()}
    needed = [n for n in schema.get("required", ()) if n != "at" or kind not in _TIMED]
    return {**schema, "properties": fields, "required": needed, "additionalProperties": False}


def _entry(kinds: list[str], refs: dict[str, Any]) -> dict[str, Any]:
    envelope = {
        "day": {"type": "integer", "maximum": 0, "description": "0 is the day of import"},
        "time": {"type": "string", "pattern": r"^\d\d:\d\d$"},
        "at": {"type": "string", "pattern": MOMENT, "description": "instead of day and time"},
        "by": {"type": "string", "minLength": 1, "description": "id of the person who signed it"},
        "label": {"type": "string", "description": 'a name: "@label" stands for this entry'},
    }
    one_of = [
        {
            "type": "object",
            "properties": {**envelope, "kind": {"const": kind}, "body": refs[kind]},
            "required": ["by", "kind", "body"],
            "oneOf": [{"required": ["day", "time"]}, {"required": ["at"]}],
            "additionalProperties": False,
        }
        for kind in kinds
    ]
    return {"oneOf": one_of}


def _file(name: str, kinds: list[str], refs: dict[str, Any], **more: object) -> dict[str, Any]:
    properties = {
        "format": {"const": name},
        "version": {"const": 1},
        "about": {"type": "string"},
        **more,
        "entries": {"type": "array", "items": _entry(kinds, refs)},
    }
    return {
        "type": "object",
        "properties": properties,
        "required": ["format", "version", *more, "entries"],
        "additionalProperties": False,
    }


def import_schema() -> dict[str, Any]:
    """Give the JSON Schema (draft 2020-12) of register and case files."""
    kinds = [kind for kind, body in KINDS.items() if body is not Purged]
    schemas, components = msgspec.json.schema_components(
        [KINDS[k] for k in kinds], ref_template="#/$defs/{name}"
    )
    records = {r.__name__: r for body in KINDS.values() for r in _records(body)}
    refs = dict(zip(kinds, schemas, strict=True))
    case = {"type": "string", "pattern": "^[2-9a-hjkmnp-z]{3,12}$"}
    register_kinds = [KIND_OF[body] for body in REGISTER_BODIES]
    case_kinds = [k for k in kinds if k not in register_kinds]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "fieldnotes import form, version 1",
        "oneOf": [
            _file("fieldnotes-register", register_kinds, refs),
            _file("fieldnotes-case", case_kinds, refs, case=case),
        ],
        "$defs": {
            name: _record(found, records[name]) if name in records else found
            for name, found in components.items()
        },
    }


def schema_text() -> str:
    """Give the schema as the file holds it."""
    return json.dumps(import_schema(), indent=1) + "\n"
