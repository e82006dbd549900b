"""Files the vet asks for: written anew, never over one that is there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.errors import StoreError

if TYPE_CHECKING:
    from pathlib import Path


def write_new(path: Path, data: bytes) -> None:
    """Write a file that is not there yet; StoreError if it is, or cannot be."""
    try:
        with path.open("xb") as file:
            file.write(data)
    except FileExistsError as error:
        raise StoreError(f"{path} is there already; choose another name") from error
    except OSError as error:
        raise StoreError(f"{path}: {error.strerror}") from error
