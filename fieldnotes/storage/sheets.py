"""A comma-separated file as a table: its headings and rows, each with the line it stands on."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from typing import Final

from fieldnotes.storage.import_shapes import refused

LARGEST_BYTES: Final = 10_000_000
SIGNS: Final = ",;\t|"
_MARKS: Final = {b"\xff\xfe": "UTF-16", b"\xfe\xff": "UTF-16", b"PK\x03\x04": "a spreadsheet file"}


@dataclass(frozen=True)
class SheetRow:
    """One row's cells by heading."""

    line: int
    cells: dict[str, str]


@dataclass(frozen=True)
class Sheet:
    """A table as read."""

    name: str
    headings: tuple[str, ...]
    rows: tuple[SheetRow, ...]


def _text(data: bytes, name: str, encoding: str) -> str:
    if len(data) > LARGEST_BYTES:
        raise refused(name, f"larger than {LARGEST_BYTES // 1_000_000} MB")
    for mark, what in _MARKS.items():
        if data.startswith(mark):
            raise refused(name, f"this is {what}; save it as CSV in UTF-8")
    try:
        return data.decode("utf-8-sig" if encoding == "utf-8" else encoding)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        byte = f"0x{data[error.start]:02X}"
        advice = "it may be Windows-1252: save it as UTF-8, or say --encoding cp1252"
        raise refused(f"{name}, line {line}", f"not {encoding} (byte {byte}); {advice}") from error


def _sign(text: str) -> str:
    """Give the sign that divides the cells: the one the heading line has most of."""
    first = text.lstrip("\r\n").partition("\n")[0]
    return max(SIGNS, key=lambda sign: (first.count(sign), sign == ","))


def read_sheet(data: bytes, name: str, encoding: str = "utf-8") -> Sheet:
    """Read a CSV file; RefusedInputError names file, line and reason.

    UTF-8 with or without a byte order mark, cells divided by comma, semicolon, tab or bar.
    """
    text = _text(data, name, encoding)
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise refused(f"{name}, line {line}", "a NUL character; this is no text file")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_sign(text), strict=True)
    headings: tuple[str, ...] = ()
    rows: list[SheetRow] = []
    begins = 1
    try:
        for cells in reader:
            line, begins = begins, reader.line_num + 1
            if not any(cell.strip() for cell in cells):
                continue
            if not headings:
                headings = _headings(cells, f"{name}, line {line}")
            else:
                rows.append(_row(cells, headings, line, name))
    except csv.Error as error:
        raise refused(f"{name}, line {begins}", str(error)) from error
    if not headings:
        raise refused(name, "the file is empty")
    return Sheet(name, headings, tuple(rows))


def _headings(cells: list[str], place: str) -> tuple[str, ...]:
    headings = tuple(cell.strip() for cell in cells)
    for heading in headings:
        if heading and headings.count(heading) > 1:
            raise refused(place, f"the column {heading!r} stands twice")
    return headings


def _row(cells: list[str], headings: tuple[str, ...], line: int, name: str) -> SheetRow:
    if len(cells) != len(headings):
        raise refused(
            f"{name}, line {line}", f"{len(cells)} cells, but there are {len(headings)} columns"
        )
    return SheetRow(line, dict(zip(headings, (c.strip() for c in cells), strict=True)))
