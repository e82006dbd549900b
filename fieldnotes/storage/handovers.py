"""Cases handed to a colleague and back: signed on the way out, laid beside ours on the way in.

Entries keep the device that wrote them, so a case that comes back brings only what is new. What
was taken in is remembered by its signed header in `received/`, so that a check knows which
entries of another store's device must be here, and that the rest of its chain need not be.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from fieldnotes.domain.entries import (
    REGISTER,
    Body,
    CaseOpened,
    HorseSet,
    OwnerSet,
    PersonSet,
    PremisesSet,
)
from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.storage.cipher import cipher_of
from fieldnotes.storage.entry import Unwritten
from fieldnotes.storage.entry_files import file_of
from fieldnotes.storage.handover_file import (
    FORMAT,
    VERSION,
    Header,
    Parcel,
    header_bytes,
    header_of,
    heads_of,
    packed,
    unpacked,
)
from fieldnotes.storage.signing import fingerprint, is_signed, public_key, signature

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator
    from pathlib import Path

    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.entries import Entry
    from fieldnotes.domain.patients import Horse
    from fieldnotes.domain.register import Register
    from fieldnotes.storage.casebook import Casebook

FOLDER = "received"


@dataclass(frozen=True)
class Arrival:
    """A verified file beside this store: what of it is new, and who signed it."""

    parcel: Parcel
    entries: tuple[tuple[Entry, dict[str, Any]], ...]
    register: tuple[Body, ...]
    known: int

    @property
    def fingerprint(self) -> str:
        """What to compare with the sender on the phone."""
        return fingerprint(self.parcel.header.key)

    @property
    def count(self) -> int:
        """How many entries would be written."""
        return len(self.entries) + len(self.register)

    @property
    def words(self) -> str:
        """What would come in, and from whom."""
        head = self.parcel.header
        return (
            f"case {head.case}, {head.horse.name}, from {head.by} ({head.practice}), "
            f"{head.made:%d %b %Y %H:%M}: {len(self.entries)} entries new, {self.known} known, "
            f"{len(self.register)} for the register. Key of the sender: {self.fingerprint}"
        )


class Handovers:
    """What a store gives to and takes from others."""

    def __init__(self, book: Casebook) -> None:
        self._book = book

    @property
    def fingerprint(self) -> str:
        """What the colleague compares: this computer's key."""
        return fingerprint(public_key(self._book.folder))

    def give(self, ref: str, by: str, now: dt.datetime) -> bytes:
        """Give a case as one signed file; StoreError if any part of it cannot be read."""
        book, case = self._book, self._book.case(ref)
        found = {str(d["id"]): d for d in book.documents(case.ref)}
        pictures = {p.body.sha256: book.pictures.get(case.ref, p.body.sha256)
                    for p in case.photographs}  # fmt: skip
        if len(found) != len(case.entries):
            raise StoreError(f"case {case.ref} has entries that cannot be read; mend it first")
        with book.writing():  # the key is made by the first that signs
            head = header_bytes(self._header(case, by, now))
            signed = signature(book.folder, head)
        return packed(head, signed, found, pictures)

    def _header(self, case: Case, by: str, now: dt.datetime) -> Header:
        register = self._book.register()
        horse = register.horses[case.opened.horse]
        people = {case.responsible, case.opened.responsible, *(e.author for e in case.entries)}
        places = {case.opened.premises, horse.premises}
        practice = register.practice
        return Header(
            format=FORMAT,
            version=VERSION,
            case=case.ref,
            store=self._book.id,
            practice=practice.name if practice else "",
            by=register.people[by].name if by in register.people else by,
            made=now,
            key=public_key(self._book.folder),
            entries=tuple((e.id, e.sha256) for e in case.entries),
            heads=tuple(heads_of(case.entries)),
            pictures=tuple(dict.fromkeys(p.body.sha256 for p in case.photographs)),
            horse=horse,
            owners=tuple(
                register.owners[p.owner] for p in horse.parties if p.owner in register.owners
            ),
            premises=tuple(register.premises[p] for p in sorted(places) if p in register.premises),
            people=tuple(register.people[p] for p in sorted(people) if p in register.people),
        )

    def read(self, data: bytes, name: str, trust: str = "") -> Arrival:
        """Verify a file and lay it beside this store; nothing is written.

        RefusedInputError names what was changed in the file, or what contradicts this store.
        `trust` is the fingerprint of a new key of a store whose key was another before.
        """
        parcel = unpacked(data, name)
        self._check_key(parcel.header, trust)
        here = self._here(parcel)
        for entry in parcel.entries:
            if here.get(entry.id, entry.sha256) != entry.sha256:
                raise RefusedInputError("file", f"{name}: entry {entry.id} is another one here")
        pairs = zip(parcel.entries, parcel.documents, strict=True)
        new = tuple(pair for pair in pairs if pair[0].id not in here)
        bodies = tuple(_register_changes(parcel.header, self._book.register()))
        return Arrival(parcel, new, bodies, len(here))

    def _here(self, parcel: Parcel) -> dict[str, str]:
        """Give the entries of the file's case that are in this store already."""
        ref = parcel.header.case
        if ref in self._book.purged():
            raise RefusedInputError("file", f"case {ref} was deleted here after its retention time")
        if ref not in self._book.state().rows:
            return {}
        case = self._book.case(ref)
        ours = next(e.id for e in case.entries if isinstance(e.body, CaseOpened))
        theirs = next((e.id for e in parcel.entries if isinstance(e.body, CaseOpened)), "")
        if ours != theirs:
            raise RefusedInputError("file", f"case {ref} is another case in this store")
        meant = {e.id for e in parcel.entries}
        return {e.id: e.sha256 for e in case.entries if e.id in meant}

    def _check_key(self, header: Header, trust: str) -> None:
        known = {h.key for h, _ in receipts(self._book.folder) if h.store == header.store}
        told = fingerprint(header.key)
        if known and header.key not in known and "".join(trust.split()) != "".join(told.split()):
            was = ", ".join(map(fingerprint, sorted(known)))
            raise RefusedInputError(
                "file",
                f"signed with another key than before (was {was}, is {told}); compare it with the "
                "sender on the phone, then import with --trust and the new one",
            )

    def take_in(self, arrival: Arrival, author: str, now: dt.datetime) -> int:
        """Write what is new, all or nothing; gives how many entries."""
        with self._book.writing():  # the receipt's number must be nobody else's
            return self._taken_in(arrival, author, now)

    def _taken_in(self, arrival: Arrival, author: str, now: dt.datetime) -> int:
        head, book = arrival.parcel.header, self._book
        if not arrival.count:
            return 0
        for data in arrival.parcel.pictures.values():
            book.pictures.put(head.case, data)
        files = {f"entries/{file_of(e).name}": book.files.encode(d) for e, d in arrival.entries}
        laid = [entry.id for entry, _ in arrival.entries]
        receipt = {"header": arrival.parcel.signed.decode(), "laid": laid}
        receipt["signature"] = arrival.parcel.signature
        number = sum(1 for _ in receipts(book.folder)) + 1
        name = f"{FOLDER}/{number:05d}-{head.case}.json"
        files[name] = book.cipher.encrypt(book.folder / name, json.dumps(receipt).encode())
        book.append_beside(files, [Unwritten(REGISTER, b, author, now) for b in arrival.register])
        return arrival.count


def receipts(folder: Path) -> Iterator[tuple[Header, tuple[str, ...]]]:
    """Give the signed header of each file taken in, and which of its entries were laid here."""
    for path in sorted((folder / FOLDER).glob("*.json")):
        try:
            found = json.loads(cipher_of(folder).read(path))
            head, laid = found["header"].encode(), tuple(map(str, found["laid"]))
            header = header_of(head, f"{FOLDER}/{path.name}")
            sound = is_signed(header.key, found["signature"], head)
        except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
            raise StoreError(f"{FOLDER}/{path.name} cannot be read ({error})") from error
        if not sound:
            raise StoreError(f"{FOLDER}/{path.name}: the signature does not fit")
        yield header, laid


def laid_here(folder: Path) -> dict[str, str]:
    """Give the id and SHA-256 of every entry another store's computer wrote and sent here."""
    found: dict[str, str] = {}
    for header, laid in receipts(folder):
        told = dict(header.entries)
        found |= {entry: told[entry] for entry in laid if entry in told}
    return found


def _register_changes(header: Header, register: Register) -> Iterator[Body]:
    """Give what the register lacks; who is known by the same id must be the same."""
    for person in header.people:
        if _new("person", person.id, person.name, register.people):
            yield PersonSet(person)
    for owner in header.owners:
        if _new("owner", owner.id, owner.name, register.owners):
            yield OwnerSet(owner)
    for place in header.premises:
        if _new("premises", place.id, place.name, register.premises):
            yield PremisesSet(place)
    if _new("horse", header.horse.id, header.horse.name, register.horses):
        yield HorseSet(header.horse)
    elif (both := _united(register.horses[header.horse.id], header.horse)) is not None:
        yield HorseSet(both)


def _new(what: str, key: str, name: str, known: Any) -> bool:  # noqa: ANN401  (any of the tables)
    if key in known and known[key].name.casefold() != name.casefold():
        raise RefusedInputError(
            "file", f"the {what} '{key}' is {name} there and {known[key].name} here"
        )
    return key not in known


def _united(ours: Horse, theirs: Horse) -> Horse | None:
    """Give our horse with the weights, allergies and conditions they know; None if none is new."""
    both = replace(
        ours,
        weights=tuple(dict.fromkeys((*ours.weights, *theirs.weights))),
        allergies=tuple(dict.fromkeys((*ours.allergies, *theirs.allergies))),
        conditions=tuple(dict.fromkeys((*ours.conditions, *theirs.conditions))),
    )
    return None if both == ours else both
