"""Photographs lie in attachments/CASE/SHA256, named by their own content and never changed."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.storage.cipher import cipher_of
from fieldnotes.storage.durable import replace_file

if TYPE_CHECKING:
    from collections.abc import Callable
    from contextlib import AbstractContextManager

_NAME = re.compile(r"[0-9a-f]{64}")
_CASE = re.compile(r"[a-z0-9]+")


class PictureFiles:
    """Keeps pictures below one folder; `writing` holds the store's lock for one write."""

    def __init__(self, folder: Path, writing: Callable[[], AbstractContextManager[None]]) -> None:
        self.folder = folder
        self._writing = writing
        self._cipher = cipher_of(folder.parent)

    def path(self, case: str, sha256: str) -> Path:
        """Give where a picture lies; StoreError if that is no hash or no case."""
        if not (_NAME.fullmatch(sha256) and _CASE.fullmatch(case)):
            raise StoreError(f"'{sha256[:20]}' names no picture")
        return self.folder / case / sha256

    def put(self, case: str, data: bytes) -> str:
        """Keep a picture, durably, and give its hash; a whole one that is there is left."""
        sha256 = hashlib.sha256(data).hexdigest()
        with self._writing():
            if not self._is_whole(case, sha256):
                path = self.path(case, sha256)
                replace_file(path, self._cipher.encrypt(path, data))
        return sha256

    def _is_whole(self, case: str, sha256: str) -> bool:
        try:
            self.get(case, sha256)
        except StoreError:
            return False
        return True

    def get(self, case: str, sha256: str) -> bytes:
        """Give a picture; StoreError if it is missing or was altered."""
        try:
            data = self._cipher.read(self.path(case, sha256))
        except FileNotFoundError as error:
            raise StoreError(f"picture {sha256[:12]} is missing") from error
        except OSError as error:
            raise StoreError(f"picture {sha256[:12]}: {error.strerror or error}") from error
        if hashlib.sha256(data).hexdigest() != sha256:
            raise StoreError(f"picture {sha256[:12]} was altered")
        return data

    def take_in(self, path: str, most_bytes: int) -> bytes:
        """Read a file from outside the store; RefusedInputError says what is wrong with it."""
        file = Path(path.strip()).expanduser()
        try:
            if file.is_dir():
                raise RefusedInputError("file", f"{path} is a folder; name the pictures in it")
            if not file.exists():
                raise RefusedInputError("file", f"there is no file {path}")
            if not file.is_file():
                raise RefusedInputError("file", f"{path} is no ordinary file")
            size = file.stat().st_size
            if size > most_bytes:
                raise RefusedInputError(
                    "file", f"{path} has {size / 1e6:.0f} MB, more than {most_bytes / 1e6:.0f}"
                )
            return file.read_bytes()
        except (OSError, ValueError) as error:  # ValueError: a null byte in the name
            reason = getattr(error, "strerror", None) or str(error)
            raise RefusedInputError("file", f"{path}: {reason}") from error

    def give_out(self, path: str, data: bytes) -> None:
        """Write a file outside the store; nothing that is there is overwritten."""
        file = Path(path).expanduser()
        try:
            file.parent.mkdir(parents=True, exist_ok=True)
            with file.open("xb") as out:
                out.write(data)
        except FileExistsError as error:
            raise RefusedInputError("output", f"{path} is there already") from error
        except OSError as error:
            raise RefusedInputError("output", f"{path}: {error.strerror or error}") from error
