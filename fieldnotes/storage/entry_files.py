"""Where entries lie: entries/DEVICE/BUCKET/SEQUENCE-STREAM.json, written once.

The name tells device, sequence and stream, so that the head of a device's chain and the
files of one case are known from the listing alone.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.cipher import UnreadFileError, cipher_of
from fieldnotes.storage.durable import sweep_temps, write_once
from fieldnotes.storage.entry import decode, read_entry
from fieldnotes.storage.strict_json import dumps

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from fieldnotes.domain.entries import Entry

BUCKET = 1000
_NAME = re.compile(r"([0-9]{8})-([a-z0-9]+)\.json")
_BUCKET = re.compile(r"[0-9]{4}")


@dataclass(frozen=True, order=True)
class EntryFile:
    """One entry's file, known by name only."""

    device: str
    sequence: int
    stream: str

    @property
    def name(self) -> str:
        """The path below the entries folder."""
        bucket = self.sequence // BUCKET
        return f"{self.device}/{bucket:04d}/{self.sequence:08d}-{self.stream}.json"


def file_of(entry: Entry) -> EntryFile:
    """Give the file an entry lies in."""
    return EntryFile(entry.device, entry.sequence, entry.stream)


def parse_name(device: str, name: str) -> EntryFile | None:
    """Give the entry a file name stands for, or None for a foreign name."""
    match = _NAME.fullmatch(name)
    return EntryFile(device, int(match[1]), match[2]) if match else None


def _names(folder: Path) -> list[str]:
    return os.listdir(folder)  # noqa: PTH208  (a thousand paths at every save would be felt)


class EntryFiles:
    """Reads and writes the files below one entries folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._cipher = cipher_of(folder.parent)

    def devices(self) -> tuple[str, ...]:
        """Give the devices that have written here."""
        if not self.folder.is_dir():
            return ()
        return tuple(sorted(p.name for p in self.folder.iterdir() if p.is_dir()))

    def _buckets(self, device: str) -> list[str]:
        folder = self.folder / device
        if not folder.is_dir():
            return []
        with os.scandir(folder) as found:  # asked after every save: names only, no paths
            return sorted(f.name for f in found if _BUCKET.fullmatch(f.name) and f.is_dir())

    def _in_bucket(self, device: str, bucket: str, names: Iterable[str]) -> Iterator[EntryFile]:
        """Give the entry files of these names; one that belongs elsewhere is a foreign file."""
        number = int(bucket)
        found = (parse_name(device, name) for name in names)
        return (f for f in found if f is not None and f.sequence // BUCKET == number)

    def after(self, device: str, sequence: int) -> Iterator[EntryFile]:
        """Give a device's files with a higher sequence, in order."""
        for bucket in self._buckets(device):
            if (int(bucket) + 1) * BUCKET > sequence:
                above = f"{max(sequence, 0):08d}"
                names = sorted(n for n in _names(self.folder / device / bucket) if n > above)
                files = self._in_bucket(device, bucket, names)
                yield from (f for f in files if f.sequence > sequence)

    def all(self) -> Iterator[EntryFile]:
        """Give every entry file of every device, in order."""
        for device in self.devices():
            yield from self.after(device, -1)

    def head(self, device: str) -> EntryFile | None:
        """Give a device's newest file without listing older buckets."""
        for bucket in reversed(self._buckets(device)):
            there = _names(self.folder / device / bucket)
            names = sorted(there, reverse=True)  # a name begins with its sequence
            newest = next(self._in_bucket(device, bucket, names), None)
            if newest is not None:
                return newest
        return None

    def stamp(self, device: str) -> tuple[str, int]:
        """Give the newest bucket and when it last changed: equal stamps, nothing new."""
        for newest in self._buckets(device)[-1:]:
            return newest, (self.folder / device / newest).stat().st_mtime_ns
        return "", 0

    def path(self, file: EntryFile) -> Path:
        """Give the full path of a file."""
        return self.folder / file.name

    def read(self, file: EntryFile) -> Entry:
        """Read one entry; StoreError if it is unreadable, altered or not what its name says."""
        return self._decoded(self.plain(file), file)

    def plain(self, file: EntryFile) -> bytes:
        """Give what an entry's file holds, decrypted but not looked at."""
        try:
            return self._cipher.read(self.path(file))
        except OSError as error:
            raise UnreadFileError(f"{file.name}: {error.strerror or error}") from error

    def decode(self, data: bytes, file: EntryFile) -> Entry:
        """Give the entry in a file's bytes; StoreError if they are not what its name says."""
        return self._decoded(self._cipher.decrypt(self.path(file), data), file)

    def _decoded(self, data: bytes, file: EntryFile) -> Entry:
        entry = read_entry(data, file.name)
        if (entry.device, entry.sequence, entry.stream) != (
            file.device,
            file.sequence,
            file.stream,
        ):
            raise StoreError(f"{file.name}: holds another entry ({entry.id})")
        return entry

    def write(self, document: dict[str, object]) -> Entry:
        """Write one encoded entry, durably; it must be new."""
        entry = decode(document, "new entry")
        write_once(self.path(file_of(entry)), self.encode(document))
        return entry

    def encode(self, document: dict[str, object]) -> bytes:
        """Give an entry's bytes as they stand on disk."""
        place = (document["device"], document["sequence"], document["stream"])
        file = EntryFile(*cast("tuple[str, int, str]", place))
        return self._cipher.encrypt(self.path(file), dumps(document))

    def sweep(self) -> int:
        """Remove what a killed save left where saves go, and beside the entries; gives how many."""
        newest = (self.folder / d / b for d in self.devices() for b in self._buckets(d)[-2:])
        beside = (p for p in self.folder.parent.iterdir() if p != self.folder and p.is_dir())
        return sum(map(sweep_temps, (*newest, *beside))) + sweep_temps(
            self.folder.parent, deep=False
        )

    def foreign(self) -> Iterator[Path]:
        """Give files below the folder that are not entries by name."""
        for path in sorted(self.folder.rglob("*")):
            if path.is_file() and not self._is_entry(path):
                yield path

    def _is_entry(self, path: Path) -> bool:
        device = path.relative_to(self.folder).parts[0]
        file = parse_name(device, path.name)
        return file is not None and self.path(file) == path
