"""What threatens a store from outside: a full disk, a wrong clock, a synced folder, no backup."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import StoreError
from fieldnotes.knowledge.upkeep import load_upkeep
from fieldnotes.storage.durable import replace_file
from fieldnotes.storage.place import CARD

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from fieldnotes.storage.casebook import Casebook

_UPKEEP = "upkeep.json"


def warnings(book: Casebook, now: dt.datetime) -> tuple[str, ...]:
    """Give what the vet should know about where the records lie, the most pressing first."""
    return (
        *_full(book.folder),
        *_clock(newest_entry(book), now),
        *_synced(book.folder),
        *_unsaved_elsewhere(book.folder, now),
    )


def free_mb(folder: Path) -> float:
    """Give the free space where a store lies, in MB."""
    return shutil.disk_usage(folder).free / 1e6


def _full(folder: Path) -> Iterator[str]:
    try:
        free = free_mb(folder)
    except OSError:
        return
    if free < load_upkeep().free_space_mb:
        yield f"only {free:.0f} MB free on this disk; make room before it is full"


def newest_entry(book: Casebook) -> dt.datetime | None:
    """Give when the newest readable entry of any device was recorded."""
    times = []
    for device in book.files.devices():
        head = book.files.head(device)
        if head is not None:
            try:
                times.append(book.files.read(head).time)
            except StoreError:
                continue
    return max(times, default=None)


def _clock(newest: dt.datetime | None, now: dt.datetime) -> Iterator[str]:
    if newest is None:
        return
    bounds = load_upkeep()
    ahead = now - newest
    if ahead < -dt.timedelta(minutes=bounds.clock_behind_min):
        yield f"the clock ({now:%d %b %Y %H:%M}) is {_span(-ahead)} behind the newest entry; set it"
    elif ahead > dt.timedelta(days=bounds.clock_ahead_days):
        yield f"the newest entry is {_span(ahead)} old; is the date right ({now:%d %b %Y})?"


def _span(time: dt.timedelta) -> str:
    if time < dt.timedelta(hours=1):
        return f"{time.seconds // 60} min"
    if time < dt.timedelta(days=2):
        return f"{time.total_seconds() / 3600:.0f} h"
    return f"{time.days} days"


def _synced(folder: Path) -> Iterator[str]:
    names = load_upkeep().synced
    for part in folder.resolve().parts:
        if any(part.casefold().startswith(name) for name in names):
            yield f"the records lie in {part}, which is synced: two copies may overwrite each other"
            return


def note_backup(folder: Path, archive: Path, now: dt.datetime) -> None:
    """Remember when and where a backup was made."""
    about = {"backed_up": now.astimezone(dt.UTC).isoformat(), "to": str(archive)}
    replace_file(folder / _UPKEEP, json.dumps(about).encode())


def last_backup(folder: Path) -> tuple[dt.datetime, str] | None:
    """Give when the last backup was made and where to; None if there was none."""
    try:
        about = json.loads((folder / _UPKEEP).read_bytes())
        return dt.datetime.fromisoformat(about["backed_up"]), str(about["to"])
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _unsaved_elsewhere(folder: Path, now: dt.datetime) -> Iterator[str]:
    last = last_backup(folder)
    try:
        since = (
            last[0] if last else dt.datetime.fromtimestamp((folder / CARD).stat().st_mtime, dt.UTC)
        )
    except OSError:
        return
    days = (now - since).days
    if days >= load_upkeep().backup_days:
        yield f"the last backup is {days} days old" if last else "no backup has been made yet"
