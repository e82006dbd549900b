"""Forms being filled in, journalled beside the records: one small file per form.

A draft is a table of what was typed, by field; it is no record and is deleted once saved.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import StoreError, StoreLockedError
from fieldnotes.storage.cipher import cipher_of
from fieldnotes.storage.durable import replace_file
from fieldnotes.storage.strict_json import loads

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from fieldnotes.storage.cipher import Cipher

_SAFE = frozenset("abcdefghijklmnopqrstuvwxyz0123456789-")


@dataclass(frozen=True)
class StoredDraft:
    """A form as last typed: which form, for which case, under which words it is offered."""

    id: str
    form: str
    case: str
    title: str
    changed: str
    answers: Mapping[str, str] = field(default_factory=dict)


class Drafts:
    """The drafts of one store; damaged files are left alone and not offered.

    One who only reads neither keeps drafts nor takes up those of the one who writes.
    """

    def __init__(self, folder: Path, *, read_only: bool = False) -> None:
        self._folder = folder
        self._read_only = read_only
        self._cipher = cipher_of(folder.parent)

    def _path(self, draft_id: str) -> Path:
        if not draft_id or not set(draft_id) <= _SAFE:
            raise StoreError(f"'{draft_id}' cannot name a draft")
        return self._folder / f"{draft_id}.json"

    def save(  # noqa: PLR0917  (a draft has these parts)
        self,
        draft_id: str,
        form: str,
        case: str,
        title: str,
        changed: str,
        answers: Mapping[str, str],
    ) -> None:
        """Put a draft on disk whole; an older one of this id is replaced."""
        if self._read_only:
            raise StoreLockedError("this store is opened to read only")
        draft = StoredDraft(draft_id, form, case, title, changed, dict(answers))
        data = json.dumps(asdict(draft), ensure_ascii=True, indent=1)
        path = self._path(draft_id)
        replace_file(path, self._cipher.encrypt(path, data.encode()))

    def load(self, draft_id: str) -> StoredDraft | None:
        """Give a draft; None if there is none that can be read."""
        return _read(self._path(draft_id), self._cipher)

    def list(self) -> tuple[StoredDraft, ...]:
        """Give every readable draft, the last changed first."""
        if self._read_only:
            return ()
        found = [_read(p, self._cipher) for p in sorted(self._folder.glob("*.json"))]
        drafts = [d for d in found if d is not None]
        return tuple(sorted(drafts, key=lambda d: d.changed, reverse=True))

    def discard(self, draft_id: str) -> None:
        """Delete a draft whose form has been saved; nothing happens if there is none."""
        self._path(draft_id).unlink(missing_ok=True)


def _read(path: Path, cipher: Cipher) -> StoredDraft | None:
    try:
        data = loads(cipher.read(path), name=path.name)
        answers = {str(k): str(v) for k, v in data["answers"].items()}
        words = {k: str(data[k]) for k in ("id", "form", "case", "title", "changed")}
    except (OSError, StoreError, KeyError, TypeError, AttributeError):
        return None
    return StoredDraft(**words, answers=answers) if words["id"] == path.stem else None
