"""Reads files of the import form as of a moment, the register first."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from fieldnotes.domain.entries import REGISTER, Amendment
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.storage.casebook import Unwritten
from fieldnotes.storage.importing import read_import
from fieldnotes.storage.strict_json import loads

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from fieldnotes.storage.casebook import Casebook
    from fieldnotes.storage.importing import ImportFile


def _practice_zone(texts: Mapping[str, bytes]) -> str:
    for name, data in texts.items():
        document = loads(data, name=name)
        entries = document.get("entries", ()) if isinstance(document, dict) else ()
        for entry in entries if isinstance(entries, list) else ():
            if isinstance(entry, dict) and entry.get("kind") == "practice":
                return str(entry["body"]["practice"]["zone"])
    raise RefusedInputError("practice", "import the practice's own file first: it names the zone")


def read_files(
    texts: Mapping[str, bytes], now: dt.datetime, zone_name: str | None
) -> tuple[ImportFile, ...]:
    """Read import files by name; the zone is the store's, else the one a file's practice names."""
    zone = ZoneInfo(zone_name or _practice_zone(texts))
    today = now.astimezone(zone).date()
    found = [read_import(data, name, today, zone) for name, data in texts.items()]
    return tuple(sorted(found, key=lambda f: bool(f.case)))


def write_imports(book: Casebook, unwritten: list[Unwritten]) -> int:
    """Write read entries; an amendment names the entry it corrects as "#N" of its own file."""
    plain = [u for u in unwritten if not isinstance(u.body, Amendment)]
    written: dict[str, list[str]] = {}
    for entry in book.append_all(plain):
        written.setdefault(entry.stream, []).append(entry.id)
    amendments = [
        replace(u, body=replace(u.body, of=_named(u.body.of, written.get(u.stream, []))))
        for u in unwritten
        if isinstance(u.body, Amendment)
    ]
    return len(plain) + len(book.append_all(amendments))


def _named(of: str, ids: list[str]) -> str:
    number = of.removeprefix("#")
    if of.startswith("#") and number.isdigit() and 0 < int(number) <= len(ids):
        return ids[int(number) - 1]
    raise RefusedInputError("amendment, of", f"'{of}' is not #1 to #{len(ids)} of this case")


def unwritten_of(imports: tuple[ImportFile, ...]) -> list[Unwritten]:
    """Give the entries to write: the register's first, then by time."""
    unwritten = [
        Unwritten(found.case or REGISTER, entry.body, entry.author, entry.at)
        for found in imports
        for entry in found.entries
    ]
    return sorted(unwritten, key=lambda item: (item.stream != REGISTER, item.time))
