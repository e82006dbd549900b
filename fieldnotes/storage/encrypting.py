"""Turns a store's encryption on and off, file by file; a kill is made good by the next writer.

While it lasts `keys.json` says so, and files of both forms are read with the same passphrase.
"""

from __future__ import annotations

import datetime as dt
import shutil
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import StoreError
from fieldnotes.storage import vault
from fieldnotes.storage.archives import FOLDER as ARCHIVES
from fieldnotes.storage.archives import Archives
from fieldnotes.storage.backup import back_up, unheard
from fieldnotes.storage.cipher import MAGIC, NOT_ENCRYPTED
from fieldnotes.storage.durable import TEMP_PREFIX, replace_file, sync_folder
from fieldnotes.storage.mending import mend
from fieldnotes.storage.place import KEYS, KEYS_COPY

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from fieldnotes.storage.casebook import Casebook
    from fieldnotes.storage.cipher import Cipher

_INDEX = "index"  # a cache: made anew instead


def turn_on(
    book: Casebook,
    passphrase: str,
    recovery: str,
    progress: Callable[[int, int], None] = unheard,
    cost: vault.Cost | None = None,
) -> None:
    """Encrypt a store at rest: mended and backed up first, each file read back.

    The recovery key should be on paper before this is called.
    """
    with book.writing():
        if book.cipher.key:
            raise StoreError("this store is locked with a passphrase already")
        vault.fit_passphrase(passphrase)
        _prepared(book)
        vault.new_vault(book.folder, passphrase, recovery, cost)
        finish(book, progress)


def turn_off(book: Casebook, progress: Callable[[int, int], None] = unheard) -> None:
    """Decrypt a store for good, mended and backed up first."""
    with book.writing():
        if not book.cipher.key:
            raise StoreError("this store is not locked with a passphrase")
        _prepared(book)
        vault.set_state(book.folder, "unlocking")
        finish(book, progress)


def _prepared(book: Casebook) -> None:
    """Mend what can be mended, while the sealed copies are there; and keep a verified backup."""
    mend(book)
    now = dt.datetime.now(dt.UTC)
    path = book.folder / ARCHIVES / f"before-lock-{now:%Y%m%d-%H%M%S}.zip"
    back_up(book.folder, path, now)


def make_good(book: Casebook) -> None:
    """Put right a damaged copy of the keys, and end a conversion that was killed."""
    vault.mend_keys(book.folder)
    if not book.cipher.strict:
        finish(book)


def finish(book: Casebook, progress: Callable[[int, int], None] = unheard) -> None:
    """Bring a conversion to its end; the write lock is held."""
    on = vault.load(book.folder).state == "locking"
    files = list(_files(book.folder))
    for number, path in enumerate(files, 1):
        (_encrypt if on else _decrypt)(book.cipher, path)
        progress(number, len(files))
    shutil.rmtree(book.folder / _INDEX, ignore_errors=True)
    if on:
        _renew_archives(book)
        vault.set_state(book.folder, "locked")
    else:
        _renew_archives(book)
        _forget_keys(book)
    book.rebuild()


def _files(store: Path) -> Iterator[Path]:
    for top in sorted(store.iterdir()):
        if top.name not in NOT_ENCRYPTED | {_INDEX} and not top.name.startswith(TEMP_PREFIX):
            found = [top] if top.is_file() else sorted(p for p in top.rglob("*") if p.is_file())
            yield from (p for p in found if not p.name.startswith(TEMP_PREFIX))


def _encrypt(cipher: Cipher, path: Path) -> None:
    data = path.read_bytes()
    if data.startswith(MAGIC):
        try:
            cipher.decrypt(path, data)
        except StoreError:
            pass  # a damaged file that was encrypted once: it stays what it is, within
        else:
            return
    replace_file(path, cipher.encrypt(path, data))
    if cipher.read(path) != data:
        raise StoreError(f"{path.name} does not read back as it was written")


def _decrypt(cipher: Cipher, path: Path) -> None:
    data = path.read_bytes()
    try:
        plain = cipher.decrypt(path, data)
    except StoreError:
        return  # damaged: mending found no copy, and nobody can read it with any key
    if plain is not data:
        replace_file(path, plain)
        if path.read_bytes() != plain:
            raise StoreError(f"{path.name} does not read back as it was written")


def _renew_archives(book: Casebook) -> None:
    """Seal everything in its present form, then delete the copies in the other."""
    newest = Archives(book.folder, book.files).seal(dt.datetime.now(dt.UTC), whole=True)
    folder = book.folder / ARCHIVES
    for path in folder.glob("*.zip"):
        if newest is not None and path != newest.path:
            path.unlink(missing_ok=True)
    sync_folder(folder)


def _forget_keys(book: Casebook) -> None:
    for name in (KEYS_COPY, KEYS):
        (book.folder / name).unlink(missing_ok=True)
    sync_folder(book.folder)
    book.cipher.hold(b"", strict=True)
