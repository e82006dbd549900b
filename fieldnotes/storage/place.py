"""What can be told of a folder without opening the store in it: is there one, its last picture."""

from __future__ import annotations

import os
from contextlib import suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

SCHEMA = 1
"""Of the entries this program writes."""
CARD = "store.json"
KEYS = "keys.json"
KEYS_COPY = "keys.copy.json"
_GLANCE = "glance.json"


def is_store(folder: Path) -> bool:
    """Whether a folder holds a store."""
    return (folder / CARD).is_file()


def has_keys(folder: Path) -> bool:
    """Whether a store is locked with a passphrase."""
    return (folder / KEYS).is_file() or (folder / KEYS_COPY).is_file()


def kept_glance(folder: Path) -> bytes:
    """Give the picture of the first screen as last seen, empty if there is none."""
    try:
        return (folder / "index" / _GLANCE).read_bytes()
    except OSError:
        return b""


def keep_glance(folder: Path, picture: bytes) -> None:
    """Keep a picture of the first screen; none of a locked store, whose records it would show.

    It is a cache, so nothing is lost where it cannot be kept.
    """
    if has_keys(folder):
        return
    path = folder / "index" / _GLANCE
    temp = path.with_suffix(f".{os.getpid()}")
    with suppress(OSError):
        path.parent.mkdir(mode=0o700, exist_ok=True)
        with os.fdopen(os.open(temp, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
            file.write(picture)
        temp.replace(path)
