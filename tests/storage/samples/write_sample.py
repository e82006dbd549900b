"""Write a sample of the present schema: `python write_sample.py`; do so before SCHEMA is raised.

One entry of each kind with every field filled in. A sample once made is never written again.
"""

from __future__ import annotations

import datetime as dt
import types
from dataclasses import fields, is_dataclass
from enum import Enum
from pathlib import Path
from typing import Any, get_args, get_origin, get_type_hints

from fieldnotes.domain.entries import KINDS, REGISTER, CaseOpened
from fieldnotes.domain.register import REGISTER_BODIES
from fieldnotes.domain.retention import Purged
from fieldnotes.domain.vials import VIAL_KINDS
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.entry import SCHEMA

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
SIMPLE: dict[Any, Any] = {
    str: 'Öhm, said "so"', bool: True, int: 3, float: 1.25, dt.date: NOW.date(),
    dt.datetime: NOW, dt.time: NOW.time(),
}  # fmt: skip


def filled(kind: Any) -> Any:
    """Give a value of an annotated kind with nothing left at its default."""
    if kind in SIMPLE:
        return SIMPLE[kind]
    if isinstance(kind, types.UnionType):
        return filled(next(k for k in get_args(kind) if k is not types.NoneType))
    if get_origin(kind) is tuple:
        items = [k for k in get_args(kind) if k is not ...]
        return tuple(filled(item) for item in items)
    if is_dataclass(kind):
        hints = get_type_hints(kind)
        return kind(**{f.name: filled(hints[f.name]) for f in fields(kind)})  # type: ignore[operator]
    if isinstance(kind, type) and issubclass(kind, Enum):
        return list(kind)[-1]
    return {filled(k): filled(v) for k, v in [get_args(kind)]}  # a mapping


def write(folder: Path) -> None:
    """Write the store."""
    create_store(folder)
    book = Casebook(folder)
    registered = (*REGISTER_BODIES, *VIAL_KINDS.values())
    book.append(REGISTER, [filled(kind) for kind in registered], "vet1", NOW)
    rest = [k for k in KINDS.values() if k not in (*registered, CaseOpened, Purged)]
    book.append("k7m2q", [filled(CaseOpened), *map(filled, rest)], "vet1", NOW)


if __name__ == "__main__":
    write(Path(__file__).with_name(f"schema-{SCHEMA}"))
