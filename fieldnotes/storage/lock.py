"""One writer at a time; the one that is refused learns who holds the store."""

from __future__ import annotations

import datetime as dt
import getpass
import json
import os
import socket
from contextlib import suppress
from typing import TYPE_CHECKING

from filelock import FileLock, Timeout

from fieldnotes.domain.errors import StoreError, StoreLockedError

if TYPE_CHECKING:
    from pathlib import Path

POLL_S = 0.002  # another writer gives the lock back for a moment only between two entries


class StoreLock:
    """The store's write lock; reading never takes it.

    The system gives it back when its holder ends in any way, so a killed one blocks nobody.
    """

    def __init__(self, folder: Path) -> None:
        self._path = folder / "lock"
        # one lock for all threads: the app writes from workers, one at a time
        self._lock = FileLock(self._path, mode=0o600, thread_local=False)
        self._holder = folder / "lock.holder"
        self._taken: tuple[int, int] | None = None

    @property
    def held(self) -> bool:
        """Whether this process holds it."""
        return self._lock.is_locked

    def acquire(self, *, wait_s: float) -> None:
        """Take the lock; StoreLockedError names the holder if it stays taken."""
        try:
            self._lock.acquire(timeout=wait_s, poll_interval=POLL_S)
            self._taken = self._identity()
        except Timeout as error:
            raise StoreLockedError(
                f"the store is open for writing in {self.holder()}; close it there first"
            ) from error
        except OSError as error:
            raise StoreError(f"could not lock the store: {error.strerror or error}") from error
        with suppress(OSError):  # a courtesy to the one who is refused; a full disk may deny it
            self._holder.write_text(json.dumps(_myself()), "utf-8")

    def ensure(self) -> bool:
        """Take the lock anew if its file was removed by hand: another may have held a new one.

        Gives whether it had to.
        """
        if self._identity() == self._taken:
            return False
        self._lock.release(force=True)
        self.acquire(wait_s=0)
        return True

    def release(self) -> None:
        """Give the lock back."""
        self._lock.release()

    def holder(self) -> str:
        """Give who holds it, in words."""
        try:
            about = json.loads(self._holder.read_text("utf-8"))
            since = dt.datetime.fromisoformat(about["since"]).astimezone()
            return (
                f"process {about['process']} on {about['host']} "
                f"(user {about['user']}, since {since:%d %b %H:%M})"
            )
        except (OSError, ValueError, KeyError, TypeError):
            return "another window"

    def _identity(self) -> tuple[int, int] | None:
        try:
            found = self._path.stat()
        except OSError:
            return None
        return found.st_dev, found.st_ino


def _myself() -> dict[str, str | int]:
    try:
        user = getpass.getuser()
    except (OSError, KeyError, ImportError):  # a login without a name
        user = "unknown"
    return {
        "process": os.getpid(),
        "host": socket.gethostname(),
        "user": user,
        "since": dt.datetime.now(dt.UTC).isoformat(timespec="seconds"),
    }
