"""One verified archive of a store, in an open format, and back into an empty folder."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
import zlib
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.card import is_store
from fieldnotes.storage.durable import make_folder, replace_file, write_once

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator
    from pathlib import Path

MANIFEST = "manifest.json"
KEPT = ("entries", "outbox", "quarantine")  # the index is rebuilt, drafts and locks are this seat's
_EPOCH = (1980, 1, 1, 0, 0, 0)


def _files(folder: Path) -> Iterator[Path]:
    yield folder / "store.json"
    for name in KEPT:
        below = folder / name
        if below.is_dir():
            yield from sorted(p for p in below.rglob("*") if p.is_file())


def back_up(folder: Path, archive: Path, now: dt.datetime) -> int:
    """Write a zip of a store with a manifest of hashes, read it back, and give its file count.

    StoreError if the archive is there already or does not read back as written.
    """
    contents = {str(p.relative_to(folder).as_posix()): p.read_bytes() for p in _files(folder)}
    manifest = {
        "format": "fieldnotes backup",
        "made": now.isoformat(),
        "sha256": {name: hashlib.sha256(data).hexdigest() for name, data in contents.items()},
    }
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as zipped:
        for name, data in {MANIFEST: json.dumps(manifest).encode(), **contents}.items():
            zipped.writestr(zipfile.ZipInfo(name, _EPOCH), data, zipfile.ZIP_DEFLATED)
    write_once(archive, buffer.getvalue())
    return len(read_archive(archive))


def read_archive(archive: Path) -> dict[str, bytes]:
    """Give an archive's verified files by name; StoreError names what does not fit."""
    try:
        with zipfile.ZipFile(archive) as zipped:
            names = zipped.namelist()
            contents = {name: zipped.read(name) for name in names}
        hashes = dict(json.loads(contents.pop(MANIFEST))["sha256"])
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
        raise StoreError(f"{archive.name} is not a whole fieldnotes backup ({error})") from error
    if set(hashes) != set(contents):
        raise StoreError(f"{archive.name}: files are missing or were added")
    for name, data in contents.items():
        if hashlib.sha256(data).hexdigest() != hashes[name]:
            raise StoreError(f"{archive.name}: {name} was altered")
        if name.startswith("/") or ".." in name.split("/") or "\\" in name or ":" in name:
            raise StoreError(f"{archive.name}: {name} leads outside the store")
    return contents


def restore(archive: Path, folder: Path) -> int:
    """Put a verified archive into an empty folder; gives how many files it wrote."""
    if folder.exists() and any(folder.iterdir()):
        raise StoreError(f"{folder} is not empty; restore into a new folder")
    contents = read_archive(archive)
    about = contents.pop("store.json", None)
    if about is None:
        raise StoreError(f"{archive.name} holds no store")
    make_folder(folder)
    for name, data in contents.items():
        replace_file(folder / name, data)
    replace_file(folder / "store.json", about)  # last: a half restore is not a store
    if not is_store(folder):
        raise StoreError(f"{folder} could not be written")
    return len(contents) + 1
