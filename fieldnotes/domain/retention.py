"""What remains of a case deleted after its retention time."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass


@dataclass(frozen=True)
class PurgedEntry:
    """The id and hash of a deleted entry, so that the chain can still be followed past it."""

    id: str
    sha256: str


@dataclass(frozen=True)
class Purged:
    """A case deleted on purpose: when it was last written in, and after how many years."""

    case: str
    last: dt.datetime
    years: int
    entries: tuple[PurgedEntry, ...] = ()
    files: tuple[str, ...] = ()
