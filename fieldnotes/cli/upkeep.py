"""The upkeep of a store in words, as the upkeep screen shows it."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.storage.backup import back_up
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.checking import check_store
from fieldnotes.storage.mending import mend
from fieldnotes.storage.quarantine import aside
from fieldnotes.storage.surroundings import free_mb, last_backup, note_backup

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable

    from fieldnotes.storage.archives import Archives


def facts(book: Casebook, archives: Archives, now: dt.datetime) -> tuple[tuple[str, str], ...]:
    """Give where the records lie and how they are kept."""
    state = book.state()
    entries = sum(head + 1 for head in state.heads.values())
    last, sealed = last_backup(book.folder), archives.all()
    backup = f"{(now - last[0]).days} days ago, {last[1]}" if last else "none yet"
    runs = "1 archive" if len(sealed) == 1 else f"{len(sealed)} archives"
    newest = f", newest {sealed[0].made:%d %b %Y}" if sealed else ""
    return (
        ("Records", str(book.folder)),
        ("Entries", f"{entries} in {len(state.rows)} cases and the register"),
        ("Free", f"{free_mb(book.folder) / 1000:.1f} GB on this disk"),
        ("Backup", backup),
        ("Sealed", f"{runs}{newest}; {archives.unsealed()} files since"),
        ("Passphrase", _locked(book)),
        ("Set aside", f"{sum(1 for _ in aside(book.folder))} files in quarantine"),
        ("Deleted", f"{len(book.purged())} cases after their time"),
    )


def backup_age(folder: Path, now: dt.datetime) -> str:
    """Give how long ago the last backup was made."""
    last = last_backup(folder)
    if last is None:
        return "no backup yet"
    days = (now - last[0]).days
    return f"backup {days} d ago" if days > 0 else "backup today"


def _locked(book: Casebook) -> str:
    set_one = "none: whoever has this disk can read the records; l sets one"
    return "set, every record is encrypted; l changes it" if book.cipher.key else set_one


def checked(folder: Path, progress: Callable[[int, int], None]) -> tuple[str, ...]:
    """Verify every record; gives the report."""
    verdict = check_store(Casebook(folder, read_only=True), progress)
    lines = [f"{finding.place}: {finding.what}" for finding in verdict.findings]
    purged = f", {verdict.purged} deleted after their time" if verdict.purged else ""
    found = f"{len(lines)} findings; m mends" if lines else "all sound"
    return (f"{verdict.entries} entries read{purged}: {found}", *lines)


def mended(book: Casebook) -> tuple[str, ...]:
    """Put back what was sealed; gives the report."""
    done = mend(book)
    good = sum(item.good for item in done)
    head = f"{good} put right, {len(done) - good} could not be" if done else "nothing to mend"
    return (head, *(f"{item.place}: {item.what}" for item in done))


def backed_up(
    book: Casebook,
    file: str,
    now: dt.datetime,
    progress: Callable[[int, int], None],
    passphrase: str = "",
) -> str:
    """Write one verified archive; gives what was done in words."""
    if not file.strip():
        raise RefusedInputError("file", "where should the backup go?")
    archive = Path(file.strip()).expanduser().absolute()
    if archive.is_dir():
        ending = "zip.age" if passphrase else "zip"
        archive /= f"fieldnotes-{now:%Y%m%d-%H%M%S}.{ending}"
    count = back_up(book.folder, archive, now, progress, passphrase)
    with suppress(StoreError):
        note_backup(book.folder, archive, now)
    return f"{count} files in {archive}, read back and verified"
