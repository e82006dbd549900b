"""Several entries of which all are on the medium, or none: one journal file decides.

The journal holds the files as they will stand. Once it is in place the batch counts: a kill
later on is made good by whoever takes the lock next. An error before the end takes it all back.
"""

from __future__ import annotations

import base64
import json
from contextlib import suppress
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.durable import replace_file, sync_folder, write_once

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

JOURNAL = "batch.journal"


class Batch:
    """The one batch a store may have under way."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._journal = folder / JOURNAL

    def write(self, contents: Mapping[str, bytes]) -> None:
        """Write new files by their name below the store, all or none; StoreError if none."""
        if there := [name for name in contents if (self._folder / name).exists()]:
            raise StoreError(f"could not save {there[0]}: it is there already")
        lines = (
            json.dumps({"name": name, "data": base64.b64encode(data).decode()})
            for name, data in contents.items()
        )
        written: list[Path] = []
        try:
            replace_file(self._journal, "\n".join(lines).encode())
            for name, data in contents.items():
                path = self._folder / name
                written.append(path)
                write_once(path, data)
        except StoreError:
            self._take_back(written)
            raise
        self._end()

    def finish(self) -> int:
        """Write what a killed batch still owes; gives how many files that were."""
        try:
            lines = self._journal.read_bytes().splitlines()
        except FileNotFoundError:
            return 0
        except OSError as error:
            raise StoreError(f"{JOURNAL} cannot be read ({error.strerror})") from error
        owed = 0
        for line in lines:
            item = json.loads(line)
            path = self._folder / item["name"]
            if not path.exists():
                write_once(path, base64.b64decode(item["data"]))
                owed += 1
        self._end()
        return owed

    def _take_back(self, written: list[Path]) -> None:
        """Remove files nobody was told of; if that fails too, the journal stays and counts."""
        try:
            for path in reversed(written):
                path.unlink(missing_ok=True)
                sync_folder(path.parent)
            self._journal.unlink(missing_ok=True)
        except OSError as error:
            text = f"half a batch is on disk and will be finished ({error.strerror or error})"
            raise StoreError(text) from error

    def _end(self) -> None:
        with suppress(OSError):  # all is written; finishing once more does nothing
            self._journal.unlink(missing_ok=True)
            sync_folder(self._folder)
