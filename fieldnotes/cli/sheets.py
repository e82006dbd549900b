"""Reads tables of owners, premises and horses in that order, each knowing those before it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from fieldnotes.domain.entries import REGISTER
from fieldnotes.storage.entry import Unwritten
from fieldnotes.storage.sheet_mapping import TABLES, mapping_of, table_of
from fieldnotes.storage.sheet_records import grown, read_rows
from fieldnotes.storage.sheets import read_sheet

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from fieldnotes.domain.register import Register
    from fieldnotes.storage.casebook import Casebook
    from fieldnotes.storage.sheet_records import SheetRead


@dataclass(frozen=True)
class Wanted:
    """How tables are to be read; what is not said is suggested."""

    table: str = ""
    mapping: Mapping[str, str] = field(default_factory=dict)
    encoding: str = "utf-8"


def read_sheets(
    texts: Mapping[str, bytes], register: Register, today: dt.date, wanted: Wanted
) -> tuple[SheetRead, ...]:
    """Read tables by name; a field may be mapped for one kind only, as `owners.name`."""
    sheets = [read_sheet(data, name, wanted.encoding) for name, data in texts.items()]
    tables = [(wanted.table or table_of(sheet), sheet) for sheet in sheets]
    reads = []
    for table, sheet in sorted(tables, key=lambda pair: TABLES.index(pair[0])):
        given = {
            name.removeprefix(f"{table}."): column
            for name, column in wanted.mapping.items()
            if "." not in name or name.startswith(f"{table}.")
        }
        read = read_rows(sheet, table, mapping_of(sheet, table, given), register, today)
        register = grown(register, read)
        reads.append(read)
    return tuple(reads)


def write_sheets(book: Casebook, reads: Sequence[SheetRead], author: str, now: dt.datetime) -> int:
    """Write what was read, all or nothing; gives how many records."""
    unwritten = [Unwritten(REGISTER, body, author, now) for read in reads for body in read.bodies]
    if unwritten:
        book.append_all(unwritten)
    return len(unwritten)
