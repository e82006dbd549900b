"""One verified archive of a store, in an open format, and back into an empty folder."""

from __future__ import annotations

import hashlib
import json
import zipfile
import zlib
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, cast

from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.age import AgeFile, AgeWriter
from fieldnotes.storage.batch import JOURNAL
from fieldnotes.storage.cipher import cipher_of
from fieldnotes.storage.durable import TEMP_PREFIX, make_folder, replace_file, whole_file
from fieldnotes.storage.place import CARD, KEYS, KEYS_COPY, is_store

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterable, Iterator
    from pathlib import Path
    from typing import BinaryIO

MANIFEST = "manifest.json"
# the index is rebuilt, the archives are copies themselves, the rest is this seat's
LEFT_OUT = frozenset(
    {
        "archives",
        "index",
        "drafts",
        "log",
        "lock",
        "lock.holder",
        "device.json",
        "device.lock",
        "signing.key",
        "upkeep.json",
    }
    | {JOURNAL}
)
_EPOCH = (1980, 1, 1, 0, 0, 0)


def unheard(done: int, of: int) -> None:
    """Take progress and tell nobody."""
    _ = done, of


def kept_files(folder: Path, top: Path | None = None) -> Iterator[Path]:
    """Give every file of a store, or of one part of it, that cannot be made anew."""
    for part in [top] if top else sorted(folder.iterdir()):
        if part.name not in LEFT_OUT:
            yield from (p for p in _below(part) if not p.name.startswith(TEMP_PREFIX))


def _below(path: Path) -> Iterable[Path]:
    return [path] if path.is_file() else sorted(p for p in path.rglob("*") if p.is_file())


def back_up(
    folder: Path,
    archive: Path,
    now: dt.datetime,
    progress: Callable[[int, int], None] = unheard,
    passphrase: str = "",
) -> int:
    """Write a zip of a store with a manifest of hashes, read it back, and give its file count.

    Of a locked store it holds the encrypted files and their keys. With a passphrase the zip is
    within a file in the age format, and the records in it are as any zip program shows them.
    StoreError if the archive is there already or does not read back as written.
    """
    names = [p.relative_to(folder).as_posix() for p in kept_files(folder)]
    about = {"format": "fieldnotes backup", "made": now.isoformat()}
    if passphrase:
        names = [name for name in names if name not in {KEYS, KEYS_COPY}]
    return write_archive(archive, folder, names, about, progress, passphrase=passphrase)


def write_archive(
    archive: Path,
    folder: Path,
    names: list[str],
    about: dict[str, Any],
    progress: Callable[[int, int], None] = unheard,
    *,
    passphrase: str = "",
) -> int:
    """Write files of a folder by name into a new archive; it is verified before it is named.

    They stand in it as on the disk; with a passphrase in plain, and the archive is encrypted.
    """
    if archive.exists():
        raise StoreError(f"could not save {archive.name}: it is there already")
    hashes: dict[str, str] = {}
    read = cipher_of(folder).read if passphrase else _as_it_is
    with whole_file(archive) as temp:
        with _written(temp, passphrase) as out, zipfile.ZipFile(out, "w") as zipped:
            for number, name in enumerate(names, 1):
                data = read(folder / name)
                hashes[name] = hashlib.sha256(data).hexdigest()
                _add(zipped, name, data)
                progress(number, 2 * len(names))
            _add(zipped, MANIFEST, json.dumps({**about, "sha256": hashes}).encode())
        made = AgeFile(temp, passphrase) if passphrase else temp
        for number, _ in enumerate(contents(made, archive.name), 1):
            progress(len(names) + number, 2 * len(names))
    return len(names)


def _as_it_is(path: Path) -> bytes:
    return path.read_bytes()


@contextmanager
def _written(path: Path, passphrase: str) -> Iterator[BinaryIO]:
    with path.open("wb") as file:
        if not passphrase:
            yield file
            return
        with AgeWriter(file, passphrase) as age:
            yield cast("BinaryIO", age)


def _add(zipped: zipfile.ZipFile, name: str, data: bytes) -> None:
    zipped.writestr(zipfile.ZipInfo(name, _EPOCH), data, zipfile.ZIP_DEFLATED)


@contextmanager
def _opened(
    archive: Path | AgeFile, shown: str
) -> Iterator[tuple[zipfile.ZipFile, dict[str, Any]]]:
    """Open an archive; whatever is wrong with it is a StoreError that names it."""
    try:
        with archive.open("rb") as file, zipfile.ZipFile(file) as zipped:
            yield zipped, dict(json.loads(zipped.read(MANIFEST)))
    except (
        OSError,
        zipfile.BadZipFile,
        zlib.error,
        KeyError,
        ValueError,
        NotImplementedError,
        RuntimeError,  # an encrypted member
        TypeError,  # a manifest of another shape
        EOFError,
    ) as error:
        raise StoreError(f"{shown} is not a whole fieldnotes backup ({error})") from error


def manifest(archive: Path) -> dict[str, Any]:
    """Give what an archive says of itself, its files not read."""
    with _opened(archive, archive.name) as (_, about):
        return about


def contents(archive: Path | AgeFile, shown: str = "") -> Iterator[tuple[str, bytes]]:
    """Give an archive's files one by one, each verified; StoreError names what does not fit."""
    shown = shown or archive.name
    with _opened(archive, shown) as (zipped, about):
        hashes = dict(about["sha256"])
        if set(hashes) | {MANIFEST} != set(zipped.namelist()):
            raise StoreError(f"{shown}: files are missing or were added")
        for name, sha256 in hashes.items():
            data = zipped.read(name)
            if hashlib.sha256(data).hexdigest() != sha256:
                raise StoreError(f"{shown}: {name} was altered")
            if name.startswith("/") or ".." in name.split("/") or "\\" in name or ":" in name:
                raise StoreError(f"{shown}: {name} leads outside the store")
            yield name, data


def content(archive: Path | AgeFile, name: str) -> bytes:
    """Give one verified file of an archive."""
    with _opened(archive, archive.name) as (zipped, about):
        data = zipped.read(name)
        if hashlib.sha256(data).hexdigest() != about["sha256"][name]:
            raise StoreError(f"{archive.name}: {name} was altered")
        return data


def restore(
    archive: Path | AgeFile, folder: Path, progress: Callable[[int, int], None] = unheard
) -> int:
    """Put a verified archive into an empty folder; gives how many files it wrote."""
    if folder.exists() and any(folder.iterdir()):
        raise StoreError(f"{folder} is not empty; restore into a new folder")
    names = [name for name, _ in contents(archive)]  # nothing is written before all is verified
    if CARD not in names:
        raise StoreError(f"{archive.name} holds no store")
    make_folder(folder)
    for number, (name, data) in enumerate(contents(archive), 1):
        if name != CARD:
            replace_file(folder / name, data)
        progress(number, len(names))
    replace_file(folder / CARD, content(archive, CARD))  # last: a half restore is not a store
    if not is_store(folder):
        raise StoreError(f"{folder} could not be written")
    return len(names)
