"""Verifies every file of a store: readable, unaltered, chained, and knowing who it is about."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.cases import fold
from fieldnotes.domain.entries import REGISTER
from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.domain.pictures import Photograph
from fieldnotes.domain.register import fold_register
from fieldnotes.domain.retention import Purged
from fieldnotes.storage.archives import ENTRIES, Archives, Sealed
from fieldnotes.storage.backup import unheard
from fieldnotes.storage.handovers import laid_here
from fieldnotes.storage.quarantine import aside
from fieldnotes.storage.retention import ids_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence
    from pathlib import Path

    from fieldnotes.domain.entries import Entry
    from fieldnotes.storage.casebook import Casebook
    from fieldnotes.storage.entry_files import EntryFile


@dataclass(frozen=True)
class Finding:
    """One thing wrong, with the place it was found."""

    place: str
    what: str


@dataclass(frozen=True)
class Verdict:
    """What a check saw: how many entries, everything wrong, how many were deleted on purpose."""

    entries: int
    findings: tuple[Finding, ...]
    purged: int = 0


def check_store(book: Casebook, progress: Callable[[int, int], None] = unheard) -> Verdict:
    """Read every entry anew, report each that is damaged, missing, moved or unchained.

    The index is made anew besides, unless the store is opened to read only.
    """
    findings: list[Finding] = []
    entries: list[Entry] = []
    archives = Archives(book.folder, book.files)
    heads = {device: book.last_known(device) for device in book.state().heads}
    for device, head in archives.heads().items():
        heads[device] = max(head, heads.get(device, -1))
    chain = _Chain(book, ids_of(_tombstones(book)), Sealed(archives), heads, progress)
    findings += chain.allow_for(book.folder)
    for device in sorted({*book.files.devices(), *heads}):
        findings += chain.check(device, entries)
    findings += [
        Finding(str(path.relative_to(book.folder)), "a foreign file among the entries")
        for path in book.files.foreign()
        if not path.name.startswith(".")
    ]
    findings += _check_references(entries)
    findings += _check_pictures(book, entries)
    findings += _check_quarantine(book)
    book.rebuild()
    return Verdict(len(entries), tuple(findings), chain.passed)


def _tombstones(book: Casebook) -> Iterator[Purged]:
    """Give the tombstones from the files themselves: the index proves nothing."""
    for file in book.files.all():
        if file.stream == REGISTER:
            with suppress(StoreError):
                body = book.files.read(file).body
                if isinstance(body, Purged):
                    yield body


class _Chain:
    """Follows each device's chain from file to file."""

    def __init__(
        self,
        book: Casebook,
        purged: dict[str, str],
        sealed: Sealed,
        heads: dict[str, int],
        progress: Callable[[int, int], None],
    ) -> None:
        self._book = book
        self._purged = purged
        self._sealed = sealed
        self._heads = heads
        self._progress = progress
        self._total = sum(head + 1 for head in heads.values())
        self._done = 0
        self._laid: dict[str, str] = {}
        self.passed = 0

    def allow_for(self, folder: Path) -> Iterator[Finding]:
        """Take in which entries of other stores' computers were sent here: no more need be."""
        try:
            self._laid = laid_here(folder)
        except (StoreError, RefusedInputError) as error:
            yield Finding("received", str(error))
        for entry in self._laid:
            device, _, number = entry.rpartition("-")
            self._heads[device] = max(int(number), self._heads.get(device, -1))

    def _is_guest(self, device: str) -> bool:
        return any(entry.startswith(f"{device}-") for entry in self._laid)

    def check(self, device: str, entries: list[Entry]) -> Iterator[Finding]:
        """Check one device's files in order; sound entries join `entries`."""
        expected, previous = 0, ""
        for file in self._book.files.after(device, -1):
            gap = range(expected, file.sequence)
            if gap:
                previous = self._purged.get(f"{device}-{gap[-1]:06d}", "")
                yield from self._missing(device, gap)
            if file.sequence < expected:
                yield Finding(file.name, f"entry {file.sequence} stands twice")
            if f"{device}-{file.sequence:06d}" in self._purged:
                yield Finding(file.name, "was purged, but its file is still there")
            entry, faults = self._entry(file, previous)
            yield from (Finding(file.name, fault) for fault in faults)
            previous = entry.sha256 if entry else ""
            entries += [entry] if entry else []
            expected = file.sequence + 1
            self._done += 1
            self._progress(self._done, max(self._total, self._done))
        # A chain cut at its end looks whole; index and archives may still know its length.
        yield from self._missing(device, range(expected, self._heads.get(device, -1) + 1))

    def _missing(self, device: str, numbers: Sequence[int]) -> Iterator[Finding]:
        if self._is_guest(device):  # of its chain only what was sent is here
            numbers = [n for n in numbers if f"{device}-{n:06d}" in self._laid]
        gone = [n for n in numbers if f"{device}-{n:06d}" in self._purged]
        self.passed += len(gone)
        for first, last in _spans([n for n in numbers if n not in set(gone)]):
            span = f"{first}" if first == last else f"{first} to {last}"
            yield Finding(device, f"entry {span} is missing")

    def _entry(self, file: EntryFile, previous: str) -> tuple[Entry | None, list[str]]:
        try:
            entry = self._book.files.read(file)
        except StoreError as error:
            said = str(error).removeprefix(ENTRIES)
            return None, [said.removeprefix(f"{file.name}: ")]
        faults = []
        if self._laid.get(entry.id, entry.sha256) != entry.sha256:
            faults.append("is not the entry that was sent")
        if previous and entry.previous != previous:
            faults.append("does not follow the entry before it")
        elif file.sequence == 0 and entry.previous:
            faults.append("claims an entry before the first")
        if self._altered(file, entry):
            when = self._sealed.when(f"{ENTRIES}{file.name}")
            faults.append(f"is not the entry that was sealed on {when}")
        return entry, faults

    def _altered(self, file: EntryFile, entry: Entry) -> bool:
        name = f"{ENTRIES}{file.name}"
        if not self._sealed.differs(self._book.files.path(file), name):
            return False
        copy = self._sealed.copy(name)
        try:  # one re-encrypted since it was sealed is the same entry
            return copy is None or self._book.files.decode(copy, file).sha256 != entry.sha256
        except StoreError:
            return False


def _spans(numbers: list[int]) -> Iterator[tuple[int, int]]:
    """Give runs of following numbers as first and last."""
    start = 0
    for i in range(1, len(numbers) + 1):
        if i == len(numbers) or numbers[i] != numbers[i - 1] + 1:
            yield numbers[start], numbers[i - 1]
            start = i


def _check_references(entries: list[Entry]) -> Iterator[Finding]:
    register = fold_register(e for e in entries if e.stream == REGISTER)
    streams: dict[str, list[Entry]] = {}
    for entry in entries:
        if entry.stream != REGISTER:
            streams.setdefault(entry.stream, []).append(entry)
    for ref, found in streams.items():
        try:
            case = fold(ref, found)
        except StoreError as error:
            yield Finding(f"case {ref}", str(error))
            continue
        if case.opened.horse not in register.horses:
            yield Finding(f"case {ref}", f"is about an unknown horse ({case.opened.horse})")
        if case.opened.premises not in register.premises:
            yield Finding(f"case {ref}", f"is at unknown premises ({case.opened.premises})")
        yield from _check_amendments(case.entries, ref)


def _check_amendments(entries: Iterable[Entry], ref: str) -> Iterator[Finding]:
    known = {e.id for e in entries}
    for entry in entries:
        of = getattr(entry.body, "of", None)
        if of is not None and of not in known:
            yield Finding(f"case {ref}, {entry.id}", f"amends {of}, which is not in this case")


def _check_pictures(book: Casebook, entries: Iterable[Entry]) -> Iterator[Finding]:
    for entry in entries:
        if isinstance(entry.body, Photograph):
            try:
                book.pictures.get(entry.stream, entry.body.sha256)
            except StoreError as error:
                yield Finding(f"case {entry.stream}, {entry.id}", str(error))


def _check_quarantine(book: Casebook) -> Iterator[Finding]:
    for path, why in aside(book.folder):
        yield Finding(
            f"quarantine/{path.name}", f"was set aside ({why})" if why else "was set aside"
        )
