"""The words of a case: everything said in its entries, each word once, for the search."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import msgspec

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.domain.cases import Case

_NOT_SAID = frozenset({"horse", "premises", "responsible", "on_call", "message_id", "sha256", "of"})
_DATED = re.compile(r"\d{4}-\d\d-\d\d")


def case_words(case: Case) -> str:
    """Give findings, drugs, free text and all else that was written down, in small letters."""
    found: dict[str, None] = {}
    for entry in case.entries:
        for text in _texts(msgspec.to_builtins(entry.body)):
            found.update(dict.fromkeys(text.casefold().split()))
    return " ".join(found)


def _texts(value: Any) -> Iterator[str]:  # noqa: ANN401  (any JSON value)
    if isinstance(value, str):
        if value and not _DATED.match(value):
            yield value
    elif isinstance(value, dict):
        for key, item in value.items():
            if key not in _NOT_SAID:
                yield from _texts(item)
    elif isinstance(value, list | tuple):
        for item in value:
            yield from _texts(item)
