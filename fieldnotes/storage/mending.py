"""Puts back what was damaged, altered or lost, from the sealed archives; the bad file is kept."""

from __future__ import annotations

from dataclasses import dataclass
from glob import escape
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.archives import ENTRIES, Archives, Sealed
from fieldnotes.storage.card import device_of, store_id
from fieldnotes.storage.cipher import OtherKeyError, UnreadFileError
from fieldnotes.storage.durable import replace_file, sweep_temps
from fieldnotes.storage.entry import NewerSchemaError
from fieldnotes.storage.entry_files import EntryFile, parse_name
from fieldnotes.storage.place import CARD, KEYS, KEYS_COPY
from fieldnotes.storage.quarantine import aside, set_aside, settle
from fieldnotes.storage.retention import finish_purges, purged_ids

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from fieldnotes.storage.casebook import Casebook


@dataclass(frozen=True)
class Mended:
    """What was done about one file; `good` if its good copy stands again."""

    place: str
    what: str
    good: bool


def mend(book: Casebook) -> tuple[Mended, ...]:
    """Mend a store: swept, every bad file set aside, every sealed one put back, index anew."""
    with book.writing():
        sweep_temps(book.folder)
        finish_purges(book)
        sealed = Sealed(Archives(book.folder, book.files))
        done = [*_entries(book, sealed), *_foreign(book), *_others(book, sealed)]
        done += _cards(book, sealed)
        for path, _ in aside(book.folder):
            if _stands_again(book, path):
                settle(path)
        book.rebuild()
    return tuple(done)


def _entries(book: Casebook, sealed: Sealed) -> Iterator[Mended]:
    names = {name.removeprefix(ENTRIES) for name in sealed.names() if name.startswith(ENTRIES)}
    names |= {file.name for file in book.files.all()}
    gone = purged_ids(book)
    for name in sorted(names):
        device, _, rest = name.split("/")
        file = parse_name(device, rest)
        if file is not None and f"{device}-{file.sequence:06d}" not in gone:
            yield from _entry(book, sealed, file)


def _entry(book: Casebook, sealed: Sealed, file: EntryFile) -> Iterator[Mended]:
    name = f"{ENTRIES}{file.name}"
    fault = _fault(book, sealed, file)
    if not fault:
        return
    copy = _good_copy(book, sealed, file)
    path = book.files.path(file)
    trouble = set_aside(book.folder, path, fault)
    if trouble:
        yield Mended(file.name, trouble, good=False)
    elif copy is None:
        yield Mended(file.name, f"{fault}; set aside, no sealed copy", good=False)
    else:
        replace_file(path, copy)
        yield Mended(file.name, f"{fault}; put back as sealed on {sealed.when(name)}", good=True)


def _good_copy(book: Casebook, sealed: Sealed, file: EntryFile) -> bytes | None:
    copy = sealed.copy(f"{ENTRIES}{file.name}")
    try:
        return copy if copy is not None and book.files.decode(copy, file) else None
    except StoreError:
        return None


def _fault(book: Casebook, sealed: Sealed, file: EntryFile) -> str:
    """Say what is wrong with an entry's file; one re-encrypted since is the same entry."""
    if not book.files.path(file).exists():
        return "missing"
    try:
        entry = book.files.read(file)
    except OtherKeyError as error:  # without a good copy it is left for whoever finds the key
        return _said(error, file) if _good_copy(book, sealed, file) else ""
    except (NewerSchemaError, UnreadFileError):
        return ""  # nothing this program may judge
    except StoreError as error:
        return _said(error, file)
    if not sealed.differs(book.files.path(file), f"{ENTRIES}{file.name}"):
        return ""
    copy = sealed.copy(f"{ENTRIES}{file.name}")
    try:
        same = copy is None or book.files.decode(copy, file).sha256 == entry.sha256
    except StoreError:
        return ""
    return "" if same else "altered"


def _said(error: StoreError, file: EntryFile) -> str:
    return str(error).removeprefix(ENTRIES).removeprefix(f"{file.name}: ")


def _foreign(book: Casebook) -> Iterator[Mended]:
    for path in book.files.foreign():
        place = path.relative_to(book.folder).as_posix()
        trouble = set_aside(book.folder, path, "a foreign file among the entries")
        yield Mended(place, trouble or "a foreign file; set aside", good=not trouble)


def _others(book: Casebook, sealed: Sealed) -> Iterator[Mended]:
    """Put back lost files beside the entries, and altered pictures; others may be newer."""
    gone = {name for purged in book.purged().values() for name in purged.files}
    for name in sorted(sealed.names()):
        path = book.folder / name
        altered = path.exists()
        if name.startswith((ENTRIES, "quarantine/")) or (altered and _is_sound(book, name)):
            continue
        if name in gone or name in {CARD, KEYS, KEYS_COPY}:
            continue
        copy = sealed.copy(name)
        if copy is not None and not set_aside(book.folder, path, "was altered"):
            replace_file(path, copy)
            fault = "altered" if altered else "missing"
            yield Mended(name, f"{fault}; put back as sealed on {sealed.when(name)}", good=True)


def _is_sound(book: Casebook, name: str) -> bool:
    """Whether a file is as it should be, as far as its name tells: a picture's is its hash."""
    top, _, rest = name.partition("/")
    if top != book.pictures.folder.name:
        return True
    try:
        book.pictures.get(*rest.split("/"))
    except (StoreError, TypeError):
        return False
    return True


def _cards(book: Casebook, sealed: Sealed) -> Iterator[Mended]:
    try:
        store_id(book.folder)
    except StoreError as error:
        copy = sealed.copy(CARD)
        if copy is None:
            yield Mended(CARD, f"{error}; no sealed copy", good=False)
        else:
            set_aside(book.folder, book.folder / CARD, str(error))
            replace_file(book.folder / CARD, copy)
            yield Mended(CARD, f"put back as sealed on {sealed.when(CARD)}", good=True)
    try:
        device_of(book.folder)
    except StoreError as error:
        set_aside(book.folder, book.folder / "device.json", str(error))
        yield Mended("device.json", "damaged; this computer gets a new name", good=True)


def _stands_again(book: Casebook, path: Path) -> bool:
    """Whether the entry or picture a file in quarantine once was is back in its place."""
    name = path.name.partition("-")[2]
    for device in book.files.devices():
        file = parse_name(device, name)
        if file is not None and book.files.path(file).is_file():
            try:
                book.files.read(file)
            except StoreError:
                return False
            return True
    return name == CARD or any(
        path.is_file() for path in book.pictures.folder.glob("*/" + escape(name))
    )
