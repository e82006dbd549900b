"""The record store: reads cases and the register, appends signed entries, finds things fast."""

from __future__ import annotations

import datetime as dt
import secrets
from contextlib import contextmanager, suppress
from functools import partial
from typing import TYPE_CHECKING, Any

import msgspec
from tinydb import where

from fieldnotes.domain.cases import Case, CaseLine, fold
from fieldnotes.domain.entries import REGISTER, Body, Entry
from fieldnotes.domain.errors import NoStoreError, StoreError, StoreLockedError, UnknownNameError
from fieldnotes.domain.retention import Purged
from fieldnotes.storage import schema
from fieldnotes.storage.batch import Batch
from fieldnotes.storage.card import device_of, new_card, store_id
from fieldnotes.storage.chain import Chain, ChainEnd, newest_readable
from fieldnotes.storage.cipher import UnreadFileError, cipher_of
from fieldnotes.storage.durable import make_folder
from fieldnotes.storage.entry import (
    SCHEMA,
    Envelope,
    NewerSchemaError,
    Unwritten,
    decode,
    encode,
)
from fieldnotes.storage.entry_files import EntryFile, EntryFiles, file_of
from fieldnotes.storage.entry_memory import EntryMemory
from fieldnotes.storage.entry_table import TABLE, entry_table
from fieldnotes.storage.handovers import Handovers
from fieldnotes.storage.index import PURGED, IndexFiles, IndexState, Row, case_row
from fieldnotes.storage.lock import StoreLock
from fieldnotes.storage.pictures import PictureFiles
from fieldnotes.storage.place import is_store
from fieldnotes.storage.quarantine import set_aside
from fieldnotes.storage.register_rows import VIALS, RegisterRows, merge_register
from fieldnotes.storage.templates import own_texts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
    from pathlib import Path

    from fieldnotes.domain.driving import Road
    from fieldnotes.domain.register import Register

LOCK_WAIT_S = 2.0
REBUILT = 200


def create_store(folder: Path) -> None:
    """Make an empty store; StoreError if the folder holds anything already."""
    if folder.exists() and any(folder.iterdir()):
        raise StoreError(f"{folder} is not empty")
    make_folder(folder)
    new_card(folder, SCHEMA)


class Casebook:
    """One open store. Reading takes no lock; `writing` does, for as long as it is needed.

    A `read_only` one writes nothing at all; `wrote` says whether this one ever took the lock.
    """

    def __init__(self, folder: Path, *, read_only: bool = False) -> None:
        if not is_store(folder):
            raise NoStoreError(
                f"there is no practice in {folder} yet: set one up in the app, "
                "import one, or look at the demo ('fieldnotes demo')"
            )
        self.folder = folder
        self.cipher = cipher_of(folder)
        self.files = EntryFiles(folder / "entries")
        self.pictures = PictureFiles(folder / "attachments", self.writing)
        self.handovers = Handovers(self)
        self.problems: list[str] = []
        self.templates = partial(own_texts, folder, self.problems)
        self.read_only = read_only
        self._memory = EntryMemory(self.files)
        self._chain = Chain(self.files)
        self._lock = StoreLock(folder)
        self._batch = Batch(folder)
        self._index_files = IndexFiles(folder / "index")
        self._state: IndexState | None = None
        self._rows = RegisterRows()
        self._register: tuple[int, Register] | None = None
        self._stamps: dict[str, tuple[str, int]] = {}
        self.wrote = False
        self.progress: Callable[[int, int], object] = lambda _done, _of: None

    @property
    def id(self) -> str:
        """The store's own random id."""
        return store_id(self.folder)

    # ----- locking

    def hold(self, wait_s: float = LOCK_WAIT_S) -> None:
        """Take the write lock until `close`; puts right what a killed save left behind."""
        if self.read_only:
            raise StoreLockedError(
                f"this store is opened to read only; {self._lock.holder()} wrote last"
            )
        self._lock.acquire(wait_s=wait_s)
        try:
            self._prepare()
        except StoreError:
            self._lock.release()
            raise

    def holder(self) -> str:
        """Give who holds the store for writing, or held it last, in words."""
        return self._lock.holder()

    def _prepare(self) -> None:
        schema.prepare(self.folder)
        if not self.wrote:
            self.files.sweep()
            self.wrote = True
        if self._batch.finish():
            self._index_files.drop()
        if self.cipher.key:
            from fieldnotes.storage.encrypting import make_good  # noqa: PLC0415  (few stores)

            make_good(self)

    def close(self) -> None:
        """Give the lock back and write the index whole."""
        if self._lock.held:
            self._let_go(whole=True)

    def _let_go(self, *, whole: bool = False) -> None:
        with suppress(OSError, StoreError):  # a cache: what it lacks the next reader finds
            if self._state is not None:
                state = self.state()
                if whole:
                    self._index_files.save(state)
        self._chain.forget()
        self._lock.release()

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Hold the write lock for one write, unless it is held already."""
        if self._lock.held:
            if any((self._lock.ensure(), self._batch.finish())):
                self._chain.forget()
            yield
            return
        self.hold()
        try:
            yield
        finally:
            self._let_go()

    # ----- reading

    def state(self) -> IndexState:
        """Give the index, brought up to the newest entry on disk."""
        if self._state is None:
            self._state = self._index_files.load() or IndexState()
        self._catch_up(self._state)
        return self._state

    def register(self) -> Register:
        """Give everyone and everything known, as it now stands."""
        state = self.state()
        if self._register is None or self._register[0] != state.edition:
            self._register = (state.edition, self._rows.register(state.register))
        return self._register[1]

    def road(self) -> Road:
        """Give what was said on the road."""
        return self._rows.road(self.state().register)

    def vials(self) -> tuple[Entry, ...]:
        """Give the entries of the controlled-drug register, read from their files."""
        found = self.state().register.get(VIALS, {})
        files = (EntryFile(device, sequence, REGISTER) for device, sequence in found.values())
        return tuple(self._read_all(files))

    def lines(self, *, open_only: bool = False, horse: str = "") -> tuple[CaseLine, ...]:
        """Give the cases as the index knows them, or one horse's, newest injury first."""
        asked = {"status": open_only and "open", "horse": horse}
        return self.state().lines({key: value for key, value in asked.items() if value})

    def resolve(self, ref: str) -> str:
        """Give the full reference of a case from any unique beginning of it."""
        wanted = ref.strip().casefold()
        rows = self.state().rows
        if wanted in rows:
            return wanted
        found = sorted(r for r in rows if wanted and r.startswith(wanted))
        if len(found) == 1:
            return found[0]
        reason = f"'{ref}' fits {', '.join(found)}" if found else f"no case begins with '{ref}'"
        raise UnknownNameError("case", reason, tuple(found))

    def case(self, ref: str) -> Case:
        """Give one case, folded from its entries."""
        full = self.resolve(ref)
        return fold(full, self._read_all(self._stream_files(full)))

    def documents(self, ref: str, kind: str | None = None) -> tuple[dict[str, Any], ...]:
        """Give a case's or the register's entries as on disk, all or of one kind."""
        found = self._stream_files(ref if ref == REGISTER else self.resolve(ref))
        files = [f for f in found if self._read(f) is not None]
        table = entry_table(self.files, files).table(TABLE)
        rows = table.all() if kind is None else table.search(where("kind") == kind)
        return tuple(map(dict, rows))

    def _stream_files(self, ref: str) -> list[EntryFile]:
        if ref == REGISTER:
            return [file for file in self.files.all() if file.stream == REGISTER]
        row = self.state().rows[ref]
        return [EntryFile(device, sequence, ref) for device, sequence in row["files"]]

    def _read_all(self, files: Iterable[EntryFile]) -> list[Entry]:
        return [entry for file in files if (entry := self._read(file)) is not None]

    def _read(self, file: EntryFile) -> Entry | None:
        try:
            return self._memory.read(file)
        except StoreError as error:
            self._report(file, error)
            return None

    def _report(self, file: EntryFile, error: StoreError) -> None:
        text = str(error)
        if text not in self.problems:
            self.problems.append(text)
        if self._lock.held and not isinstance(error, NewerSchemaError | UnreadFileError):
            fault = set_aside(self.folder, self.files.path(file), text)
            self.problems += [fault] if fault else []

    def purged(self) -> dict[str, Purged]:
        """Give what was deleted after its retention time, by case."""
        known = self.state().register.get(PURGED, {})
        return {ref: msgspec.convert(document, Purged) for ref, document in known.items()}

    # ----- index

    def rebuild(self) -> None:
        """Make the index anew from the files; how long the chains once were stays known."""
        known = dict(self.state().heads)
        self._index_files.drop()
        self._stamps.clear()
        self._memory.forget()
        self._chain.forget()
        self._register, self._state = None, IndexState()
        self.problems.clear()
        state = self.state()
        for device, head in known.items():
            state.heads[device] = max(head, state.heads.get(device, -1))
        if not self.read_only:
            self._index_files.save(state)

    def last_known(self, device: str) -> int:
        """Give the highest sequence the index ever saw of a device, -1 if none."""
        return self.state().heads.get(device, -1)

    def _catch_up(self, state: IndexState) -> None:
        new = [file for device in self.files.devices() for file in self._new(state, device)]
        if not new:
            return
        change = self._change(state, new)
        state.apply(change)
        if self._lock.held:
            self._index_files.append(change, state)
        elif len(new) > REBUILT and not self.read_only:  # a cache: any reader may write it
            self._index_files.save(state)

    def _new(self, state: IndexState, device: str) -> list[EntryFile]:
        stamp = self.files.stamp(device)
        if self._stamps.get(device) == stamp:
            return []
        new = list(self.files.after(device, state.heads.get(device, -1)))
        if not new:
            self._stamps[device] = stamp
        return new

    def _change(self, state: IndexState, new: Sequence[EntryFile]) -> Row:
        streams: dict[str, list[EntryFile]] = {}
        heads: dict[str, int] = {}
        for file in new:
            streams.setdefault(file.stream, []).append(file)
            heads[file.device] = max(file.sequence, heads.get(file.device, -1))
        since = {device: state.heads.get(device, -1) for device in heads}
        change: Row = {"since": since, "heads": heads, "clock": state.clock}
        change |= {"rows": [], "register": {}}
        for number, (stream, files) in enumerate(streams.items(), 1):
            if len(new) > REBUILT:
                self.progress(number, len(streams))
            known = state.rows.get(stream, {}).get("files", [])
            files = [EntryFile(d, s, stream) for d, s in known] + files  # noqa: PLW2901
            entries = self._read_all(files)
            change["clock"] = max([change["clock"], *(e.clock for e in entries)])
            if stream == REGISTER:
                merge_register(change["register"], entries)
            else:
                self._merge_case(change["rows"], stream, files, entries)
        return change

    def _merge_case(
        self, rows: list[Row], ref: str, files: list[EntryFile], entries: list[Entry]
    ) -> None:
        try:
            case = fold(ref, entries)
        except StoreError as error:
            self.problems.append(str(error))
            return
        ids = {e.id for e in entries}
        good = [f for f in files if f"{f.device}-{f.sequence:06d}" in ids]
        rows.append(case_row(case, good))

    # ----- writing

    def append(
        self, stream: str, bodies: Sequence[Body], author: str, time: dt.datetime
    ) -> tuple[Entry, ...]:
        """Add signed entries to a stream; each is on the medium when this returns.

        All of them are, or none: then StoreError says why. The index follows when it is next read.
        """
        return self.append_all([Unwritten(stream, body, author, time) for body in bodies])

    def append_all(
        self,
        unwritten: Sequence[Unwritten],
        bind: Callable[[Body, Sequence[str]], Body] | None = None,
    ) -> tuple[Entry, ...]:
        """Add entries of any streams in the order given, all or none.

        `bind` puts the ids of the stream's entries before it into a body that names them.
        """
        with self.writing():
            documents = self._documents_of(unwritten, bind)
            self._chain.forget()
            if len(documents) == 1:
                written = [self.files.write(documents[0])]
            else:
                written = [decode(document, "new entry") for document in documents]
                names = (f"entries/{file_of(entry).name}" for entry in written)
                self._batch.write(dict(zip(names, map(self.files.encode, documents), strict=True)))
            for newest in written[-1:]:
                self._chain.remember(newest)
            return tuple(written)

    def append_beside(self, files: Mapping[str, bytes], own: Sequence[Unwritten]) -> None:
        """Write another store's files and entries of our own that go with them, all or none."""
        with self.writing():
            told = self._documents_of(own, None)
            ours = {f"entries/{file_of(decode(d, 'new entry')).name}": d for d in told}
            self._batch.write({**files, **{n: self.files.encode(d) for n, d in ours.items()}})
            self.rebuild()  # theirs may lie before what the index has seen

    def _documents_of(
        self,
        unwritten: Sequence[Unwritten],
        bind: Callable[[Body, Sequence[str]], Body] | None,
    ) -> list[dict[str, Any]]:
        end = self._chain.end() or self._end_on_disk()
        clock = max(end.clock, self._state.clock if self._state else 0)
        sha256 = end.sha256
        ids: dict[str, list[str]] = {}
        documents = []
        for offset, item in enumerate(unwritten):
            envelope = Envelope(
                device=end.device,
                sequence=end.sequence + offset,
                clock=clock + 1 + offset,
                time=item.time.astimezone(dt.UTC),
                author=item.author,
                stream=item.stream,
                previous=sha256,
            )
            before = ids.setdefault(item.stream, [])
            body = bind(item.body, before) if bind else item.body
            documents.append(encode(envelope, body))
            before.append(envelope.id)
            sha256 = documents[-1]["sha256"]
        return documents

    def _end_on_disk(self) -> ChainEnd:
        state, device = self.state(), device_of(self.folder)
        newest, highest = newest_readable(self.files, device, self._read)
        next_sequence = max(highest, state.heads.get(device, -1)) + 1
        return ChainEnd(device, next_sequence, newest.sha256 if newest else "", state.clock)

    def new_ref(self) -> str:
        """Give a short case reference not used yet."""
        alphabet = "23456789abcdefghjkmnpqrstuvwxyz"
        while True:
            ref = "".join(secrets.choice(alphabet) for _ in range(5))
            if ref not in self.state().rows and ref not in self.purged():
                return ref
