"""Verifies every file of a store: readable, unaltered, chained, and knowing who it is about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.cases import fold
from fieldnotes.domain.entries import REGISTER
from fieldnotes.domain.errors import StoreError
from fieldnotes.domain.register import fold_register
from fieldnotes.storage.quarantine import aside

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from fieldnotes.domain.entries import Entry
    from fieldnotes.storage.casebook import Casebook


@dataclass(frozen=True)
class Finding:
    """One thing wrong, with the place it was found."""

    place: str
    what: str


@dataclass(frozen=True)
class Verdict:
    """What a check saw: how many entries, and everything wrong with them."""

    entries: int
    findings: tuple[Finding, ...]


def check_store(book: Casebook) -> Verdict:
    """Read every entry anew and report each that is damaged, missing, moved or unchained."""
    findings: list[Finding] = []
    entries: list[Entry] = []
    for device in sorted({*book.files.devices(), *book.state().heads}):
        findings += _check_device(book, device, entries)
    findings += [
        Finding(str(path.relative_to(book.folder)), "a foreign file among the entries")
        for path in book.files.foreign()
        if not path.name.startswith(".")
    ]
    findings += _check_references(entries)
    findings += _check_quarantine(book)
    return Verdict(len(entries), tuple(findings))


def _missing(device: str, numbers: range) -> Iterator[Finding]:
    if numbers:
        span = f"{numbers[0]}" if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"
        yield Finding(device, f"entry {span} is missing")


def _check_device(book: Casebook, device: str, entries: list[Entry]) -> Iterator[Finding]:
    expected, previous = 0, ""
    for file in book.files.after(device, -1):
        missing = range(expected, file.sequence)
        if missing:
            previous = ""
            yield from _missing(device, missing)
        if file.sequence < expected:
            yield Finding(file.name, f"entry {file.sequence} stands twice")
        try:
            entry = book.files.read(file)
        except StoreError as error:
            yield Finding(file.name, str(error).removeprefix(f"{file.name}: "))
            previous = ""
        else:
            if previous and entry.previous != previous:
                yield Finding(file.name, "does not follow the entry before it")
            elif file.sequence == 0 and entry.previous:
                yield Finding(file.name, "claims an entry before the first")
            previous = entry.sha256
            entries.append(entry)
        expected = file.sequence + 1
    # A chain cut at its end looks whole; the index may still know how long it was.
    yield from _missing(device, range(expected, book.last_known(device) + 1))


def _check_references(entries: list[Entry]) -> Iterator[Finding]:
    register = fold_register(e for e in entries if e.stream == REGISTER)
    streams: dict[str, list[Entry]] = {}
    for entry in entries:
        if entry.stream != REGISTER:
            streams.setdefault(entry.stream, []).append(entry)
    for ref, found in streams.items():
        try:
            case = fold(ref, found)
        except StoreError as error:
            yield Finding(f"case {ref}", str(error))
            continue
        if case.opened.horse not in register.horses:
            yield Finding(f"case {ref}", f"is about an unknown horse ({case.opened.horse})")
        if case.opened.premises not in register.premises:
            yield Finding(f"case {ref}", f"is at unknown premises ({case.opened.premises})")
        yield from _check_amendments(case.entries, ref)


def _check_amendments(entries: Iterable[Entry], ref: str) -> Iterator[Finding]:
    known = {e.id for e in entries}
    for entry in entries:
        of = getattr(entry.body, "of", None)
        if of is not None and of not in known:
            yield Finding(f"case {ref}, {entry.id}", f"amends {of}, which is not in this case")


def _check_quarantine(book: Casebook) -> Iterator[Finding]:
    for path, why in aside(book.folder):
        yield Finding(
            f"quarantine/{path.name}", f"was set aside ({why})" if why else "was set aside"
        )
