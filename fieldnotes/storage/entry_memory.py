"""Entries read before: decoded once, as long as their files are as they were.

A few thousand are kept, those asked for last, since a case is opened, checked and saved to in
one go. `check` and the archives do not ask here: they read the files.
"""

from __future__ import annotations

import os
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldnotes.domain.entries import Entry
    from fieldnotes.storage.entry_files import EntryFile, EntryFiles

KEPT = 2000
Stamp = tuple[int, int, int, int]


def stamp_of(path: str | os.PathLike[str]) -> Stamp | None:
    """Give what changes with any change of a file or folder; None if there is none."""
    try:
        found = os.stat(path)  # noqa: PTH116  (a save asks for several: paths would be felt)
    except OSError:
        return None
    return found.st_ino, found.st_size, found.st_mtime_ns, found.st_ctime_ns


class EntryMemory:
    """Reads entries, each file once until it changes."""

    def __init__(self, files: EntryFiles) -> None:
        self._files = files
        self._kept = lru_cache(maxsize=KEPT)(self._entry)

    def read(self, file: EntryFile) -> Entry:
        """Give an entry; StoreError if it is unreadable, altered or not what its name says."""
        return self._kept(file, stamp_of(self._files.path(file)))

    def forget(self) -> None:
        """Read every file anew."""
        self._kept.cache_clear()

    def _entry(self, file: EntryFile, _stamp: Stamp | None) -> Entry:
        return self._files.read(file)
