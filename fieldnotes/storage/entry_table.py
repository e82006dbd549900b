"""TinyDB over one stream's entries: it queries them and adds to them, and can do nothing else."""

from __future__ import annotations

from copy import deepcopy
from typing import TYPE_CHECKING, Any

from tinydb import TinyDB
from tinydb.storages import Storage

from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.strict_json import loads

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldnotes.storage.entry_files import EntryFile, EntryFiles

TABLE = "entries"


class EntryStorage(Storage):
    """A TinyDB storage whose documents are entry files; a change or removal is refused."""

    def __init__(self, files: EntryFiles, names: Sequence[EntryFile]) -> None:
        self._files = files
        self._documents = {
            str(number): loads(files.plain(name), name=name.name)
            for number, name in enumerate(names, 1)
        }

    def read(self) -> dict[str, dict[str, Any]] | None:
        """Give TinyDB's view of the stream."""
        # a copy: TinyDB changes documents in place before it asks to write them
        return {TABLE: deepcopy(self._documents)} if self._documents else None

    def write(self, data: dict[str, dict[str, Any]]) -> None:
        """Write the documents that are new; each is on disk when this returns."""
        table = data.get(TABLE, {})
        wanted = {str(number): dict(document) for number, document in table.items()}
        for number, document in self._documents.items():
            if wanted.get(number) != document:
                raise StoreError("an entry is never changed or deleted; amend it instead")
        for number, document in wanted.items():
            if number not in self._documents:
                self._files.write(document)
                self._documents[number] = document


def entry_table(files: EntryFiles, names: Sequence[EntryFile]) -> TinyDB:
    """Open TinyDB over the entries in the given files; `.table(TABLE)` queries them."""
    return TinyDB(files, names, storage=EntryStorage)
