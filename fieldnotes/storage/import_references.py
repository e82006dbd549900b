"""How an entry of an imported file names another entry of it: by label, or as "#3"."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.domain.entries import Amendment, FollowUpOutcome, Visit
from fieldnotes.storage.import_shapes import refused

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from fieldnotes.domain.entries import Body

_LABEL = re.compile(r"@([a-z][a-z0-9-]*)", re.ASCII)
_NUMBER = re.compile(r"#(\d{1,6})", re.ASCII)


def _rewritten(body: Body, put: Callable[[str], str]) -> Body:
    """Give a body with every text that may name another entry rewritten."""
    match body:
        case Amendment():
            return replace(body, of=put(body.of))
        case FollowUpOutcome():
            return replace(body, key=put(body.key))
        case Visit():
            return replace(body, tasks_done=tuple(map(put, body.tasks_done)))
        case _:
            return body


def numbered(body: Body, labels: Mapping[str, int], number: int, place: str) -> Body:
    """Give a body with labels as numbers; it may only name entries before its own number."""

    def put(text: str) -> str:
        unknown = [label for label in _LABEL.findall(text) if label not in labels]
        if unknown:
            raise refused(place, f"no entry before it has the label {unknown[0]!r}")
        found = _LABEL.sub(lambda m: f"#{labels[m[1]]}", text)
        wrong = [n for n in _NUMBER.findall(found) if not 0 < int(n) < number]
        if wrong:
            raise refused(place, f"#{wrong[0]} is no entry before it")
        return found

    return _rewritten(body, put)


def bound(body: Body, ids: Sequence[str]) -> Body:
    """Give a body with "#N" replaced by the id the N-th entry of its file was written under."""
    return _rewritten(body, lambda text: _NUMBER.sub(lambda m: ids[int(m[1]) - 1], text))
