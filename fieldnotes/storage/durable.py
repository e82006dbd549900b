"""Files that are whole or absent: temp file beside it, fsync, rename, fsync of the folder."""

from __future__ import annotations

import os
import secrets
import sys
import time
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

TEMP_PREFIX = ".writing-"
_RETRIES = 5  # another process may hold the target open for a moment on Windows
_RETRY_S = 0.05


def _sync_file(descriptor: int) -> None:
    if sys.platform == "darwin":  # fsync there does not reach the medium
        import fcntl  # noqa: PLC0415

        fcntl.fcntl(descriptor, fcntl.F_FULLFSYNC)
    else:
        os.fsync(descriptor)


def sync_folder(folder: Path) -> None:
    """Put a folder's own entries on the medium; Windows cannot and does not need to."""
    if sys.platform == "win32":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def make_folder(folder: Path) -> None:
    """Make a private folder and its parents, durably; nothing happens if it is there."""
    if folder.is_dir():
        return
    make_folder(folder.parent)
    folder.mkdir(mode=0o700, exist_ok=True)
    sync_folder(folder.parent)


def _write_temp(folder: Path, data: bytes) -> Path:
    temp = folder / f"{TEMP_PREFIX}{secrets.token_hex(6)}"
    descriptor = os.open(temp, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        view = memoryview(data)
        while view:
            view = view[os.write(descriptor, view) :]
        _sync_file(descriptor)
    except OSError:
        os.close(descriptor)
        temp.unlink(missing_ok=True)
        raise
    os.close(descriptor)
    return temp


def _move(temp: Path, path: Path) -> None:
    for attempt in range(_RETRIES):
        try:
            temp.replace(path)
        except PermissionError:
            if sys.platform != "win32" or attempt == _RETRIES - 1:
                raise
            time.sleep(_RETRY_S)
        else:
            return


def replace_file(path: Path, data: bytes) -> None:
    """Put `data` at `path` so that a reader or a power cut sees the old or the new, whole.

    StoreError if it could not be done; then the old file stands.
    """
    try:
        make_folder(path.parent)
        temp = _write_temp(path.parent, data)
        try:
            _move(temp, path)
        except OSError:
            temp.unlink(missing_ok=True)
            raise
        sync_folder(path.parent)
    except OSError as error:
        raise StoreError(f"could not save {path.name}: {error.strerror or error}") from error


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """Give a temp file's path to write to; it takes its name, durably, if nothing goes wrong."""
    try:
        make_folder(path.parent)
        temp = _write_temp(path.parent, b"")
        try:
            yield temp
            with temp.open("rb+") as written:
                _sync_file(written.fileno())
            _move(temp, path)
        finally:
            temp.unlink(missing_ok=True)
        sync_folder(path.parent)
    except OSError as error:
        raise StoreError(f"could not save {path.name}: {error.strerror or error}") from error


def write_once(path: Path, data: bytes) -> None:
    """Write a file that must not exist yet and is never changed after."""
    if path.exists():
        raise StoreError(f"could not save {path.name}: it is there already")
    replace_file(path, data)


def sweep_temps(folder: Path, *, deep: bool = True) -> int:
    """Remove what a killed save left behind in a folder, or anywhere below; gives how many."""
    pattern = f"{TEMP_PREFIX}*"
    stray = [p for p in (folder.rglob if deep else folder.glob)(pattern) if p.is_file()]
    for path in stray:
        with suppress(OSError):  # one that cannot go harms nobody: it is read by no one
            path.unlink(missing_ok=True)
    return len(stray)
