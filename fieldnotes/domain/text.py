"""Cleaning of free text: once where it enters, once more where it is shown."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from typing import TypeVar, cast

T = TypeVar("T")

# Controls but newline and tab, and half characters. Bidi overrides and isolates can reverse the
# digits of a dose; the rest is invisible or breaks lines where no reader expects it.
_REMOVED = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff"
    "\u061c\u200b\u200e\u200f\u2028\u2029\u202a-\u202e\u2060\u2066-\u2069\ufeff"
    "\U000e0000-\U000e007f]"
)

# First characters a spreadsheet takes for a formula's, full-width signs among them (CWE-1236).
_FORMULA_STARTS = (*"=+-@\t\r\n\0", *"\uff1d\uff0b\uff0d\uff20")


def clean(text: str) -> str:
    """Give the text in NFC without control, direction-changing or invisible characters.

    Right-to-left letters stay; so do newline and tab. CRLF and CR become a newline.
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return unicodedata.normalize("NFC", _REMOVED.sub("", lines))


def clean_line(text: str) -> str:
    """Give the cleaned text as one line, white space folded and trimmed."""
    return " ".join(clean(text).split())


def defused(cell: str) -> str:
    """Give a table's cell that no spreadsheet runs as a formula."""
    return f"'{cell}" if cell.lstrip(" ").startswith(_FORMULA_STARTS) else cell


def clean_record(record: T) -> T:
    """Give a frozen record with every text in it cleaned, however deep."""
    if isinstance(record, str) and not isinstance(record, Enum):
        return cast("T", clean(record))
    if isinstance(record, tuple):
        return cast("T", tuple(clean_record(item) for item in record))
    if is_dataclass(record) and not isinstance(record, type):
        changed = {}
        for field in fields(record):
            value = getattr(record, field.name)
            cleaned = clean_record(value)
            if cleaned != value:
                changed[field.name] = cleaned
        return cast("T", replace(record, **changed)) if changed else record
    return record
