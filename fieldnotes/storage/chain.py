"""Where this device's chain of entries ends, remembered between two saves of one lock.

What is remembered counts only while the newest file and its folder are as the save left them:
anything that came, went or was altered since is found by reading anew.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.entry_files import file_of
from fieldnotes.storage.entry_memory import Stamp, stamp_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldnotes.domain.entries import Entry
    from fieldnotes.storage.entry_files import EntryFile, EntryFiles


@dataclass(frozen=True)
class ChainEnd:
    """What the next entry joins on to: device, its next sequence, hash and clock before it."""

    device: str
    sequence: int
    sha256: str
    clock: int


class Chain:
    """The remembered end of this device's chain; there is none before the first save."""

    def __init__(self, files: EntryFiles) -> None:
        self._files = files
        self._end: ChainEnd | None = None
        self._stamps: tuple[Stamp | None, ...] = ()
        self._paths: tuple[str, ...] = ()

    def end(self) -> ChainEnd | None:
        """Give the end, or None where it has to be read from the files."""
        return self._end if self._end is not None and self._stamps == self._now() else None

    def forget(self) -> None:
        """Read the end anew at the next save: what is written now may fail half way."""
        self._end = None

    def remember(self, newest: Entry) -> None:
        """Take the entry just written as the newest."""
        path = self._files.path(file_of(newest))
        self._paths = (str(path), str(path.parent))
        self._stamps = self._now()
        self._end = ChainEnd(newest.device, newest.sequence + 1, newest.sha256, newest.clock)

    def _now(self) -> tuple[Stamp | None, ...]:
        return tuple(map(stamp_of, self._paths))


def newest_readable(
    files: EntryFiles, device: str, read: Callable[[EntryFile], Entry | None]
) -> tuple[Entry | None, int]:
    """Give a device's newest entry that can be read and the highest sequence there is, or -1.

    `read` sets a damaged file aside, if it can; StoreError where the newest stays unread.
    """
    highest = -1
    while (head := files.head(device)) is not None:
        highest = max(highest, head.sequence)
        entry = read(head)
        if entry is not None:
            return entry, highest
        if files.path(head).exists():
            raise StoreError(f"{head.name} cannot be read here, so nothing is written after it")
    return None, highest
