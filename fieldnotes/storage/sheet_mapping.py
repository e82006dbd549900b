"""Which column of a table is which field: suggested from the headings, changed by the reader."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from fieldnotes.knowledge.columns import load_columns
from fieldnotes.storage.import_shapes import nearest, refused

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from fieldnotes.storage.sheets import Sheet

TABLES: Final = ("owners", "premises", "horses")
CONSTANT: Final = "="
"""A mapping to "=horse" means the word itself, for every row."""
_SIGNS = re.compile(r"[\W_]+")


def _plain(text: str) -> str:
    return _SIGNS.sub(" ", text.casefold()).strip()


def suggest(table: str, headings: Iterable[str]) -> dict[str, str]:
    """Give the column each field most likely stands in; a field without one is left out."""
    by_words = {_plain(heading): heading for heading in headings if heading}
    found: dict[str, str] = {}
    for column in (c for c in load_columns() if c.table == table):
        heading = next((by_words[w] for w in map(_plain, column.words) if w in by_words), None)
        if heading is not None and heading not in found.values():
            found[column.id] = heading
    return found


def table_of(sheet: Sheet) -> str:
    """Give which table a sheet is: by its file's name, else by what its headings fit best."""
    for table in TABLES:
        if table[:-1] in sheet.name.rpartition("/")[2].casefold():
            return table
    fits = {table: _fit(table, sheet) for table in TABLES}
    best = max(fits, key=lambda table: fits[table])
    if fits[best] <= 0:
        raise refused(sheet.name, f"is this a table of {', '.join(TABLES)}? Say it with --as")
    return best


def _fit(table: str, sheet: Sheet) -> int:
    mapping = suggest(table, sheet.headings)
    needed = [c.id for c in load_columns() if c.table == table and c.required]
    missing = sum(field not in mapping for field in needed if field != "species")
    return len(mapping) - 10 * missing


def fields_of(table: str) -> tuple[str, ...]:
    """Give the fields a table may fill."""
    return tuple(c.id for c in load_columns() if c.table == table)


def mapping_of(sheet: Sheet, table: str, given: Mapping[str, str]) -> dict[str, str]:
    """Give the mapping: what was said, and for the rest what the headings suggest.

    An empty column leaves a field out. RefusedInputError names what does not exist or is missing.
    """
    known = fields_of(table)
    mapping = {**suggest(table, sheet.headings), **given}
    for field, heading in given.items():
        if field not in known:
            raise refused("--map", f"{table} have no {field!r}; {nearest(field, known)}")
        if heading and not heading.startswith(CONSTANT) and heading not in sheet.headings:
            hint = nearest(heading, sheet.headings)
            raise refused("--map", f"{sheet.name} has no column {heading!r}; {hint}")
    mapping = {field: heading for field, heading in mapping.items() if heading}
    for column in load_columns():
        if column.table == table and column.required and column.id not in mapping:
            raise refused(
                sheet.name,
                f"no column for {column.id}; say --map {column.id}=COLUMN "
                f"(columns: {', '.join(h for h in sheet.headings if h)})",
            )
    return mapping
