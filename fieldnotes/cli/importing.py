"""Reads files of the import form as of a moment, the register first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from fieldnotes.domain.entries import REGISTER
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.storage.entry import Unwritten
from fieldnotes.storage.import_references import bound
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
                return _zone_in(entry, name)
    raise RefusedInputError("practice", "import the practice's own file first: it names the zone")


def _zone_in(entry: dict[str, Any], name: str) -> str:
    """Give the zone a practice's entry names, before anything else of it is read."""
    try:
        return str(ZoneInfo(entry["body"]["practice"]["zone"]))
    except (KeyError, TypeError, ValueError, OSError) as error:  # KeyError also for a zone unknown
        raise RefusedInputError(f"{name}, zone", "no time zone such as Europe/London") from error


def read_files(
    texts: Mapping[str, bytes], now: dt.datetime, zone_name: str | None
) -> tuple[ImportFile, ...]:
    """Read import files by name; the zone is the store's, else the one a file's practice names."""
    zone = ZoneInfo(zone_name or _practice_zone(texts))
    today = now.astimezone(zone).date()
    found = [read_import(data, name, today, zone, load_regions()) for name, data in texts.items()]
    return tuple(sorted(found, key=lambda f: bool(f.case)))


def write_imports(book: Casebook, unwritten: list[Unwritten]) -> int:
    """Write read entries in their order, all or none, those that name another bound to its id."""
    book.append_all(unwritten, bound)
    return len(unwritten)


def unwritten_of(imports: tuple[ImportFile, ...]) -> list[Unwritten]:
    """Give the entries to write: the register's first, then by time."""
    unwritten = [
        Unwritten(found.case or REGISTER, entry.body, entry.author, entry.at)
        for found in imports
        for entry in found.entries
    ]
    return sorted(unwritten, key=lambda item: (item.stream != REGISTER, item.time))
