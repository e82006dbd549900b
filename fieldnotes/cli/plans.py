"""An import as the app's assistant shows it: read whole first, written only when said."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from fieldnotes.cli.importing import read_files, unwritten_of, write_imports
from fieldnotes.cli.sheets import write_sheets
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.storage.handover_file import is_parcel
from fieldnotes.storage.import_checks import check_imports
from fieldnotes.storage.sheet_mapping import fields_of, mapping_of, table_of
from fieldnotes.storage.sheet_records import SheetRead, read_rows
from fieldnotes.storage.sheets import Sheet, read_sheet
from fieldnotes.tui.ports import ImportPlan

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from fieldnotes.storage.casebook import Casebook
    from fieldnotes.storage.entry import Unwritten
    from fieldnotes.storage.handovers import Arrival

_TABLES = {".csv", ".tsv", ".txt"}


def texts_of(name: str) -> dict[str, bytes]:
    """Read a file, or every import file of a folder."""
    path = Path(name.strip()).expanduser()
    try:
        files = sorted(path.glob("*.json")) if path.is_dir() else [path]
        texts = {str(file): file.read_bytes() for file in files}
    except OSError as error:
        raise RefusedInputError("file", f"{error.strerror}: {name}") from error
    if not texts:
        raise RefusedInputError("file", f"{name} holds no .json file")
    return texts


def plan_import(
    book: Casebook, file: str, table: str, mapping: Mapping[str, str], now: dt.datetime
) -> ImportPlan:
    """Read a file without writing anything; gives what it would bring and what is wrong."""
    if (arrival := _arrival(book, file)) is not None:
        return ImportPlan(file, count=arrival.count, known=(arrival.words,))
    if Path(file.strip()).suffix.casefold() not in _TABLES:
        return ImportPlan(file, count=len(_entries(book, file, now)))
    sheet, found = _sheet(file, table)
    try:
        read = _read(book, sheet, found, mapping, now)
    except RefusedInputError as error:
        return ImportPlan(
            file, found, fields_of(found), sheet.headings, dict(mapping), problems=(str(error),)
        )
    return ImportPlan(
        file,
        found,
        fields_of(found),
        sheet.headings,
        dict(read.mapping),
        len(read.bodies),
        read.problems,
        read.known,
    )


def bring_in(book: Casebook, plan: ImportPlan, author: str, now: dt.datetime) -> int:
    """Write what a plan holds, all or nothing; rows known already are left out."""
    if (arrival := _arrival(book, plan.file)) is not None:
        return book.handovers.take_in(arrival, author, now)
    if not plan.table:
        return write_imports(book, _entries(book, plan.file, now))
    sheet, table = _sheet(plan.file, plan.table)
    read = _read(book, sheet, table, plan.mapping, now)
    if read.problems:
        raise RefusedInputError("file", read.problems[0])
    return write_sheets(book, (read,), author, now)


def _arrival(book: Casebook, file: str) -> Arrival | None:
    """Give a colleague's signed file as verified, None for any other file."""
    [(name, data), *rest] = texts_of(file).items()
    if rest or not is_parcel(data):
        return None
    return book.handovers.read(data, Path(name).name)


def _sheet(file: str, table: str) -> tuple[Sheet, str]:
    [(name, data)] = texts_of(file).items()
    sheet = read_sheet(data, Path(name).name)
    return sheet, table or table_of(sheet)


def _read(
    book: Casebook, sheet: Sheet, table: str, mapping: Mapping[str, str], now: dt.datetime
) -> SheetRead:
    whole = mapping_of(sheet, table, mapping)
    return read_rows(sheet, table, whole, book.register(), now.date())


def _entries(book: Casebook, file: str, now: dt.datetime) -> list[Unwritten]:
    register = book.register()
    zone = register.practice.zone if register.practice else None
    found = read_files(texts_of(file), now, zone)
    check_imports(register, found)
    taken = {i.case for i in found if i.case} & set(book.state().rows)
    if taken:
        raise RefusedInputError("case", f"{', '.join(sorted(taken))} is in this store already")
    return unwritten_of(found)
