"""One writer at a time; the one that is refused learns who holds the store."""

from __future__ import annotations

import os
import socket
from contextlib import suppress
from typing import TYPE_CHECKING

from filelock import FileLock, Timeout

from fieldnotes.domain.errors import StoreError, StoreLockedError

if TYPE_CHECKING:
    from pathlib import Path


class StoreLock:
    """The store's write lock; reading never takes it."""

    def __init__(self, folder: Path) -> None:
        self._lock = FileLock(folder / "lock", mode=0o600)
        self._holder = folder / "lock.holder"

    @property
    def held(self) -> bool:
        """Whether this process holds it."""
        return self._lock.is_locked

    def acquire(self, *, wait_s: float) -> None:
        """Take the lock; StoreLockedError names the holder if it stays taken."""
        try:
            self._lock.acquire(timeout=wait_s)
        except Timeout as error:
            raise StoreLockedError(
                f"the store is open for writing in {self._holder_text()}; close it there first"
            ) from error
        except OSError as error:
            raise StoreError(f"could not lock the store: {error.strerror or error}") from error
        with suppress(OSError):  # a courtesy to the one who is refused; a full disk may deny it
            self._holder.write_text(f"process {os.getpid()} on {socket.gethostname()}\n", "utf-8")

    def release(self) -> None:
        """Give the lock back."""
        self._lock.release()

    def _holder_text(self) -> str:
        try:
            return self._holder.read_text("utf-8").strip() or "another window"
        except OSError:
            return "another window"
