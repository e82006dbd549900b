"""Deleting closed cases after their retention time: never a younger one, never without a trace."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.cases import Status
from fieldnotes.domain.entries import REGISTER
from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.domain.retention import Purged, PurgedEntry
from fieldnotes.knowledge.upkeep import load_upkeep
from fieldnotes.storage.archives import Archives
from fieldnotes.storage.cipher import cipher_of
from fieldnotes.storage.durable import sync_folder
from fieldnotes.storage.surroundings import newest_entry

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    from fieldnotes.domain.cases import Case
    from fieldnotes.storage.casebook import Casebook


@dataclass(frozen=True)
class Kept:
    """A case with when it was last written in and the day from which it may be deleted."""

    case: str
    status: Status
    last: dt.datetime
    until: dt.date
    entries: int

    def may_go(self, today: dt.date) -> bool:
        """Whether it is closed and its time is over."""
        return self.status is not Status.OPEN and self.until < today


def retention_years(book: Casebook) -> int:
    """Give how long cases are kept: as the practice set it, never less than the least."""
    practice = book.register().practice
    return max(load_upkeep().retention_years, practice.retention_years if practice else 0)


def retained(book: Casebook, ref: str) -> Kept:
    """Give how long one case must be kept."""
    case = book.case(ref)
    last = _last(case)
    until = _years_on(last.date(), retention_years(book))
    return Kept(case.ref, case.status, last, until, len(case.entries))


def _years_on(day: dt.date, years: int) -> dt.date:
    """Give the same day so many years on; of 29 February the day after."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return dt.date(day.year + years, 3, 1)


def _last(case: Case) -> dt.datetime:
    """Give the latest moment a case speaks of; a flat clock must not make it look old."""
    times = [case.opened.injured_at, *(entry.time for entry in case.entries)]
    times += [visit.body.at for visit in case.visits]
    return max(times)


def reckoned_day(book: Casebook, today: dt.date) -> dt.date:
    """Give the day retention is reckoned by: a clock far ahead makes no case look old.

    It is at most the newest entry's and the days a clock may run ahead of it.
    """
    newest = newest_entry(book)
    ahead = dt.timedelta(days=load_upkeep().clock_ahead_days)
    return today if newest is None else min(today, newest.date() + ahead)


def purgeable(book: Casebook, today: dt.date) -> tuple[Kept, ...]:
    """Give the closed cases whose time is over, the oldest first."""
    rows, today = book.lines(), reckoned_day(book, today)
    least = dt.timedelta(days=365 * retention_years(book))
    old = (x for x in rows if x.status is not Status.OPEN and x.last_at.date() + least <= today)
    found = (retained(book, line.ref) for line in old)
    return tuple(sorted((k for k in found if k.may_go(today)), key=lambda k: k.last))


def purge(book: Casebook, refs: Sequence[str], author: str, now: dt.datetime) -> tuple[Purged, ...]:
    """Delete cases: a tombstone each, signed, then their files and every sealed copy of them.

    RefusedInputError names a case that is open or younger than the retention time, or that only
    a clock far ahead makes look older; then none is deleted.
    """
    with book.writing():
        found = [retained(book, ref) for ref in refs]
        for kept in found:
            _refuse_young(kept, reckoned_day(book, now.date()))
        stones = tuple(_tombstone(book, kept) for kept in found)
        if not stones:
            return ()
        book.append(REGISTER, stones, author, now)
        finish_purges(book)
        Archives(book.folder, book.files).seal(now, whole=True)
        book.rebuild()
        return stones


def _refuse_young(kept: Kept, today: dt.date) -> None:
    if kept.status is Status.OPEN:
        raise RefusedInputError("case", f"{kept.case} is open; only a closed case can be deleted")
    if not kept.may_go(today):
        raise RefusedInputError("case", f"{kept.case} must be kept until {kept.until}")


def _tombstone(book: Casebook, kept: Kept) -> Purged:
    entries = tuple(PurgedEntry(e.id, e.sha256) for e in book.case(kept.case).entries)
    files = tuple(
        path.relative_to(book.folder).as_posix() for path in _files_about(book.folder, kept.case)
    )
    return Purged(kept.case, kept.last, retention_years(book), entries, files)


def _files_about(folder: Path, ref: str) -> Iterator[Path]:
    """Give the files beside the entries that are about one case: mails and attachments."""
    cipher = cipher_of(folder)
    for state in sorted((folder / "outbox").glob("*/state.json")):
        try:
            case = json.loads(cipher.read(state)).get("case")
        except (OSError, StoreError, ValueError, AttributeError):
            continue
        if case == ref:
            yield from sorted(state.parent.iterdir())
    attached = folder / "attachments" / ref
    yield from sorted(p for p in attached.rglob("*") if p.is_file())


def purged_ids(book: Casebook) -> dict[str, str]:
    """Give the hash of every deleted entry by its id."""
    return ids_of(book.purged().values())


def ids_of(stones: Iterable[Purged]) -> dict[str, str]:
    """Give the hashes tombstones name, by entry id."""
    return {entry.id: entry.sha256 for stone in stones for entry in stone.entries}


def finish_purges(book: Casebook) -> int:
    """Delete what tombstones name and a killed purge left; gives how many files."""
    stones = book.purged()
    wanted = {name for stone in stones.values() for name in stone.files}
    paths = [book.folder / name for name in wanted]
    ids = ids_of(stones.values())
    paths += [
        book.files.path(file)
        for file in (book.files.all() if ids else ())
        if file.stream in stones and f"{file.device}-{file.sequence:06d}" in ids
    ]
    there = [path for path in paths if path.is_file()]
    try:
        for path in there:
            path.unlink()
        for parent in {path.parent for path in there}:
            sync_folder(parent)
    except OSError as error:
        raise StoreError(f"not everything could be deleted: {error.strerror}") from error
    return len(there)
