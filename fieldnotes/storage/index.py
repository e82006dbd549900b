"""The disposable index: one row a case, the folded register, and how far it has read.

It is a cache of the entries. Changes are appended to a journal without fsync; deleting the
folder costs one rebuild and no record.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import msgspec
from tinydb import Query, TinyDB
from tinydb.storages import Storage

from fieldnotes.domain.cases import CaseLine
from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.cipher import cipher_of
from fieldnotes.storage.durable import make_folder, replace_file
from fieldnotes.storage.words import case_words

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from fieldnotes.domain.cases import Case
    from fieldnotes.storage.entry_files import EntryFile

VERSION = 4
JOURNAL_LINES = 500
PURGED = "purged"
Row = dict[str, Any]
_UNUSABLE = (
    StoreError,
    ValueError,  # msgspec's own among them
    RecursionError,
    KeyError,
    AttributeError,
    TypeError,
)


def case_row(case: Case, files: list[EntryFile]) -> Row:
    """Give the index row of a folded case."""
    opened = case.opened
    last = case.visits[-1].body.at if case.visits else opened.injured_at
    return {
        "ref": case.ref,
        "horse": opened.horse,
        "premises": opened.premises,
        "opened": case.opened_at.isoformat(),
        "injured_at": opened.injured_at.isoformat(),
        "last_at": last.isoformat(),
        "status": case.status.value,
        "on_hold": case.on_hold,
        "wounds": [{"label": w.label, "region": w.region, "view": w.view} for w in case.wounds],
        "words": case_words(case),
        "ended_on": case.ended_on and case.ended_on.isoformat(),
        "files": [[f.device, f.sequence] for f in files],
    }


class RowStorage(Storage):
    """TinyDB's view of the rows, to query them where they lie."""

    def __init__(self, rows: dict[str, Row]) -> None:
        self._rows = rows

    def read(self) -> dict[str, dict[str, Any]]:
        """Give the rows, numbered as TinyDB counts."""
        rows = {str(number): row for number, row in enumerate(self._rows.values())}
        return {TinyDB.default_table_name: rows}

    def write(self, data: dict[str, dict[str, Any]]) -> None:  # noqa: ARG002  (as TinyDB calls it)
        """Refuse: rows come from entries."""
        raise StoreError("the index is made of the entries; it is not written by a query")


@dataclass
class IndexState:
    """What the index knows; plain values only, so that it loads fast."""

    heads: dict[str, int] = field(default_factory=dict)
    clock: int = 0
    rows: dict[str, Row] = field(default_factory=dict)
    register: dict[str, dict[str, Any]] = field(default_factory=dict)
    edition: int = field(default=0, compare=False)
    """How often the register has changed since this was loaded."""
    _made: dict[str, CaseLine] = field(default_factory=dict, repr=False, compare=False)
    _all: tuple[CaseLine, ...] | None = field(default=None, repr=False, compare=False)

    def follows(self, change: Row) -> bool:
        """Whether a journalled change joins on without a gap; else entries would be missed."""
        since = change["since"]
        return all(head <= self.heads.get(device, -1) for device, head in since.items())

    def apply(self, change: Row) -> None:
        """Take in one change, as journalled."""
        self._all = None
        for device, sequence in change["heads"].items():
            self.heads[device] = max(sequence, self.heads.get(device, -1))
        self.clock = max(self.clock, change["clock"])
        for row in change.get("rows", ()):
            self.rows[row["ref"]] = row
            self._made.pop(row["ref"], None)
        for kind, records in change.get("register", {}).items():
            self.register.setdefault(kind, {}).update(records)
            self.edition += 1
        for ref in self.register.get(PURGED, ()):
            self.rows.pop(ref, None)
            self._made.pop(ref, None)

    def whole(self) -> Row:
        """Give the state as one change."""
        return {
            "version": VERSION,
            "heads": self.heads,
            "clock": self.clock,
            "rows": list(self.rows.values()),
            "register": self.register,
        }

    def lines(self, wanted: Row) -> tuple[CaseLine, ...]:
        """Give the cases with these values, newest injury first; each is kept until it changes."""
        if wanted:
            return self._lines(
                TinyDB(self.rows, storage=RowStorage).search(Query().fragment(wanted))
            )
        if self._all is None:
            self._all = self._lines(self.rows.values())
        return self._all

    def _lines(self, rows: Iterable[Row]) -> tuple[CaseLine, ...]:
        made = self._made
        for row in rows:
            if row["ref"] not in made:
                made[row["ref"]] = msgspec.convert(dict(row), CaseLine)
        found = [made[row["ref"]] for row in rows]
        return tuple(sorted(found, key=lambda line: line.injured_at, reverse=True))


class IndexFiles:
    """Snapshot and journal of the index in one folder."""

    def __init__(self, folder: Path) -> None:
        self._snapshot = folder / "index.json"
        self._journal = folder / "index.journal"
        self._cipher = cipher_of(folder.parent)
        self._lines = 0

    def load(self) -> IndexState | None:
        """Give the saved state; None if there is none that can be used."""
        state = IndexState()
        try:
            whole = msgspec.json.decode(self._cipher.read(self._snapshot))
            if whole.get("version") != VERSION:
                return None
            state.apply(whole)
        except (OSError, *_UNUSABLE):
            return None
        self._replay(state)
        return state

    def _replay(self, state: IndexState) -> None:
        try:
            lines = self._journal.read_bytes().splitlines()
        except OSError:
            return
        for line in lines:
            try:
                change = msgspec.json.decode(self._cipher.decrypt_line(self._journal, line))
                if not state.follows(change):
                    return
                state.apply(change)
            except _UNUSABLE:
                return  # an unfinished line: the entries themselves tell the rest
            self._lines += 1

    def append(self, change: Row, state: IndexState) -> None:
        """Journal one change; the whole is written anew when the journal has grown long.

        A failure is no fault of the record: the cache is dropped and made anew by the next reader.
        """
        try:
            self._append(change, state)
        except (OSError, StoreError):
            self.drop()

    def drop(self) -> None:
        """Forget the saved state, as far as the disk allows."""
        with suppress(OSError):
            self._snapshot.unlink(missing_ok=True)
            self._journal.unlink(missing_ok=True)

    def _append(self, change: Row, state: IndexState) -> None:
        if self._lines >= max(JOURNAL_LINES, len(state.rows)) or not self._snapshot.is_file():
            self._save(state)
            return
        with self._journal.open("ab") as journal:
            line = self._cipher.encrypt_line(self._journal, msgspec.json.encode(change))
            journal.write(line + b"\n")
        self._lines += 1

    def save(self, state: IndexState) -> None:
        """Write the whole state and empty the journal; a failure drops the cache."""
        try:
            self._save(state)
        except (OSError, StoreError):
            self.drop()

    def _save(self, state: IndexState) -> None:
        make_folder(self._snapshot.parent)
        whole = msgspec.json.encode(state.whole())
        replace_file(self._snapshot, self._cipher.encrypt(self._snapshot, whole))
        self._journal.unlink(missing_ok=True)
        self._lines = 0
