"""A store's own card and this computer's: what they are called and which schema they follow."""

from __future__ import annotations

import json
import secrets
import socket
from contextlib import contextmanager
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.durable import replace_file, write_once
from fieldnotes.storage.place import CARD
from fieldnotes.storage.strict_json import loads

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_DEVICE = "device.json"
_LOCK = "device.lock"
_WAIT_S = 5.0  # another holds it for one small write


def _document(path: Path) -> dict[str, object]:
    try:
        return dict(loads(path.read_bytes(), name=path.name))
    except (OSError, TypeError, ValueError) as error:
        raise StoreError(f"{path.name} cannot be read ({error})") from error


def _value(path: Path, key: str) -> object:
    try:
        return _document(path)[key]
    except KeyError as error:
        raise StoreError(f"{path.name} cannot be read ({error})") from error


def new_card(folder: Path, schema: int) -> None:
    """Write the card of a new store."""
    about = {"format": "fieldnotes store", "schema": schema, "id": secrets.token_hex(8)}
    write_once(folder / CARD, json.dumps(about).encode())


def store_id(folder: Path) -> str:
    """Give a store's own random id."""
    return str(_value(folder / CARD, "id"))


def store_schema(folder: Path) -> int:
    """Give the schema a store is written in."""
    found = _value(folder / CARD, "schema")
    if not isinstance(found, int):
        raise StoreError(f"{CARD} cannot be read (schema)")
    return found


def raise_schema(folder: Path, schema: int) -> None:
    """Say on the card that entries of a newer schema follow; its other fields stay."""
    about = _document(folder / CARD) | {"schema": schema}
    replace_file(folder / CARD, json.dumps(about).encode())


@contextmanager
def _changing(folder: Path) -> Iterator[Path]:
    """Let one process at a time change this computer's card; StoreError if another keeps it.

    It is a lock of its own: a setting is changed while the app holds the store's, too.
    """
    from filelock import FileLock, Timeout  # noqa: PLC0415  (a start that only reads needs none)

    lock = FileLock(folder / _LOCK, mode=0o600)
    try:
        lock.acquire(timeout=_WAIT_S, poll_interval=0.01)
    except Timeout as error:
        raise StoreError(f"{_DEVICE} is being changed by another window; try again") from error
    except OSError as error:
        raise StoreError(f"could not lock {_DEVICE}: {error.strerror or error}") from error
    try:
        yield folder / _DEVICE
    finally:
        lock.release()


def _named(path: Path) -> str:
    """Give this computer's name, made if it has none; the card is not changed meanwhile."""
    if path.is_file():
        return str(_value(path, "device"))
    device = "d" + secrets.token_hex(4)
    write_once(path, json.dumps({"device": device, "host": socket.gethostname()}).encode())
    return device


def device_of(folder: Path) -> str:
    """Give this computer's name in the store, made when it first writes."""
    if (folder / _DEVICE).is_file():
        return _named(folder / _DEVICE)
    with _changing(folder) as path:
        return _named(path)


def setting_here(folder: Path, name: str) -> object:
    """Give what is set for this computer alone; None if nothing is."""
    try:
        return _document(folder / _DEVICE).get(name)
    except StoreError:
        return None


def set_here(folder: Path, name: str, value: float | str) -> None:
    """Set something for this computer alone, whoever else sets something else meanwhile."""
    with _changing(folder) as path:
        _named(path)
        replace_file(path, json.dumps(_document(path) | {name: value}).encode())
