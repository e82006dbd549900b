"""Files the vet asks for: written anew, never over one that is there."""

from __future__ import annotations

import os
from contextlib import suppress
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import StoreError

if TYPE_CHECKING:
    from pathlib import Path


def write_new(path: Path, data: bytes) -> None:
    """Write a file that is not there yet; StoreError if it is, or cannot be.

    Half a file, as a full disk leaves, is taken away again.
    """
    try:
        file = path.open("xb")
    except FileExistsError as error:
        raise StoreError(f"{path} is there already; choose another name") from error
    except OSError as error:
        raise StoreError(f"{path}: {error.strerror}") from error
    try:
        with file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        with suppress(OSError):
            path.unlink()
        raise StoreError(f"{path}: {error.strerror}; nothing was written") from error
