"""Which schema a store is written in, and what happens before the first write in a newer one.

Files are never rewritten: an older entry is read through `entry.UPGRADES`, a newer store is
read as far as it is understood and not written to.
"""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import StoreError
from fieldnotes.storage import entry
from fieldnotes.storage.card import raise_schema, store_schema
from fieldnotes.storage.cipher import Cipher

if TYPE_CHECKING:
    from pathlib import Path


def prepare(folder: Path) -> None:
    """Make a store ready to be written in this program's schema, its old state backed up first.

    NewerSchemaError if a newer program has written to it, StoreError if another one encrypted it
    meanwhile.
    """
    Cipher(folder).ensure_current()
    try:
        found = store_schema(folder)
    except StoreError:
        return  # a damaged card stops no record: `check` reports it, each entry has its own schema
    if found > entry.SCHEMA:
        raise entry.NewerSchemaError(
            f"a newer fieldnotes has written to this store (schema {found}, this one writes "
            f"{entry.SCHEMA}); it can be read here, not changed"
        )
    if found < entry.SCHEMA:
        _back_up_before(folder, found)
        raise_schema(folder, entry.SCHEMA)


def _back_up_before(folder: Path, found: int) -> None:
    from fieldnotes.storage.backup import back_up  # noqa: PLC0415  (once in a store's life)

    now = dt.datetime.now(dt.UTC)
    back_up(folder, folder / "archives" / f"before-schema-{found + 1}-{now:%Y%m%d-%H%M%S}.zip", now)
