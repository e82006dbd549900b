"""Sealed copies beside the records: a zip of what is new, one a day, from which files are mended.

The first of a run holds everything, those after it what came since. Two runs are kept.
"""

from __future__ import annotations

import datetime as dt  # noqa: TC003  (the manifest's codec reads the annotation)
import hashlib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import msgspec

from fieldnotes.domain.errors import StoreError
from fieldnotes.knowledge.upkeep import load_upkeep
from fieldnotes.storage.backup import content, kept_files, manifest, write_archive

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from fieldnotes.storage.entry_files import EntryFile, EntryFiles

FOLDER = "archives"
FORMAT = "fieldnotes sealed archive"
ENTRIES = "entries/"
Stamp = tuple[int, int]


@dataclass(frozen=True)
class Archive:
    """A sealed archive: its files' hashes, and how far all of its run together reach.

    `run` is its place in the run, 1 holds everything;
    `heads` is the highest entry of each device; `seen` has size and time of each other file.
    """

    path: Path
    made: dt.datetime
    run: int
    heads: dict[str, int]
    seen: dict[str, Stamp] = field(default_factory=dict)
    sha256: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class _About:
    format: str
    made: dt.datetime
    run: int
    heads: dict[str, int]
    seen: dict[str, Stamp]
    sha256: dict[str, str]


def _read(path: Path) -> Archive | None:
    try:
        about = msgspec.convert(manifest(path), _About)
    except (StoreError, msgspec.ValidationError):
        return None  # a damaged copy mends nothing; the next one seals what it held anew
    if about.format != FORMAT:
        return None
    return Archive(path, about.made, about.run, about.heads, about.seen, about.sha256)


class Archives:
    """The sealed archives of one store."""

    def __init__(self, store: Path, files: EntryFiles) -> None:
        self._store = store
        self._files = files
        self._folder = store / FOLDER

    def _paths(self) -> list[Path]:
        return sorted(self._folder.glob("sealed-*.zip")) if self._folder.is_dir() else []

    def all(self) -> tuple[Archive, ...]:
        """Give the readable archives, newest first."""
        found = (_read(path) for path in reversed(self._paths()))
        return tuple(archive for archive in found if archive is not None)

    def latest(self) -> Archive | None:
        """Give the newest readable archive."""
        return next((a for path in reversed(self._paths()) if (a := _read(path))), None)

    def heads(self) -> dict[str, int]:
        """Give the highest entry of each device that was ever sealed."""
        latest = self.latest()
        return dict(latest.heads) if latest else {}

    def unsealed(self) -> int:
        """Give how many files a seal would take in."""
        last = self._base()
        return len(self._entries(last)) + len(self._others(last))

    def seal(self, now: dt.datetime, *, whole: bool = False) -> Archive | None:
        """Seal what came since the last archive; None if nothing did.

        Damaged entries are not sealed: an archive holds good copies only.
        """
        last = None if whole else self._base()
        entries, others = self._entries(last), self._others(last)
        if last is not None and not entries and not others:
            return None
        seen = {name: _stamp(self._store / name) for name in others}
        about = {
            "format": FORMAT,
            "made": now.isoformat(),
            "run": last.run + 1 if last else 1,
            "heads": self._reach(last, entries),
            "seen": (last.seen if last else {}) | seen,
        }
        names = [f"{ENTRIES}{file.name}" for file in entries if self._is_good(file)] + others
        path = self._folder / f"sealed-{self._next():06d}-{now:%Y%m%d}.zip"
        write_archive(path, self._store, names, about)
        if last is None:
            self._thin_out(path, others_too=whole)
        return _read(path)

    def seal_once_a_day(self, now: dt.datetime, most: int | None = None) -> Archive | None:
        """Seal unless this was done today or more than so many files wait."""
        done = any(path.stem.endswith(f"-{now:%Y%m%d}") for path in self._paths())
        if done or (most is not None and self.unsealed() > most):
            return None
        return self.seal(now)

    def _next(self) -> int:
        """Give the next number; the clock may stand still or run back."""
        numbers = (path.name.split("-")[1] for path in self._paths())
        return 1 + max((int(n) for n in numbers if n.isdigit()), default=0)

    def _base(self) -> Archive | None:
        """Give the archive the next one follows; None if the next must hold everything."""
        latest = self.latest()
        return latest if latest and latest.run < load_upkeep().archives else None

    def _entries(self, last: Archive | None) -> list[EntryFile]:
        heads = last.heads if last else {}
        return [
            file
            for device in self._files.devices()
            for file in self._files.after(device, heads.get(device, -1))
        ]

    def _others(self, last: Archive | None) -> list[str]:
        seen: dict[str, Stamp] = last.seen if last else {}
        entries = self._files.folder
        tops = (p for p in sorted(self._store.iterdir()) if p != entries)
        found = (p for top in tops for p in kept_files(self._store, top))
        names = [p.relative_to(self._store).as_posix() for p in found]
        return [n for n in names if tuple(seen.get(n, ())) != _stamp(self._store / n)]

    def _reach(self, last: Archive | None, entries: list[EntryFile]) -> dict[str, int]:
        heads = dict(last.heads) if last else {}
        for file in entries:
            heads[file.device] = max(file.sequence, heads.get(file.device, -1))
        return heads

    def _is_good(self, file: EntryFile) -> bool:
        try:
            self._files.read(file)
        except StoreError:
            return False
        return True

    def _thin_out(self, newest: Path, *, others_too: bool) -> None:
        """Delete the runs before the last but one; after a purge all before the newest."""
        wholes = [newest] if others_too else [a.path for a in self.all() if a.run == 1][:2]
        for path in self._paths():
            if path < wholes[-1]:
                path.unlink(missing_ok=True)


def _stamp(path: Path) -> Stamp:
    found = path.stat()
    return found.st_size, found.st_mtime_ns


class Sealed:
    """Looks up the good copies in a store's archives, newest first."""

    def __init__(self, archives: Archives) -> None:
        self._where: dict[str, Archive] = {}
        for archive in archives.all():
            for name in archive.sha256:
                self._where.setdefault(name, archive)

    def names(self) -> Iterator[str]:
        """Give every name a copy is sealed under."""
        yield from self._where

    def sha256(self, name: str) -> str:
        """Give the hash of a sealed copy, empty if there is none."""
        archive = self._where.get(name)
        return archive.sha256[name] if archive else ""

    def differs(self, path: Path, name: str) -> bool:
        """Whether a file is not, byte for byte, the copy sealed under a name."""
        wanted = self.sha256(name)
        return bool(wanted) and hashlib.sha256(path.read_bytes()).hexdigest() != wanted

    def when(self, name: str) -> str:
        """Give when the copy was sealed, in words."""
        return f"{self._where[name].made:%Y-%m-%d}"

    def copy(self, name: str) -> bytes | None:
        """Give a sealed copy, None if there is none that can be read."""
        archive: Any = self._where.get(name)
        try:
            return content(archive.path, name) if archive else None
        except StoreError:
            return None
