"""The small family of errors a person gets to read."""

from __future__ import annotations

from dataclasses import dataclass


class FieldnotesError(Exception):
    """Something that was refused or is not possible; `title` heads the notice in the app."""

    title = "Not possible"
    exit_code = 1


class RefusedInputError(FieldnotesError):
    """Input that cannot be right; `field` names the argument or form field it stands in."""

    title = "Please check"

    def __init__(self, field: str, reason: str) -> None:
        super().__init__(f"{field}: {reason}" if field else reason)
        self.field = field
        self.reason = reason


class KnowledgeError(FieldnotesError):
    """A knowledge file that cannot be used; the text names file and row."""

    title = "Knowledge file"


class UnknownNameError(RefusedInputError):
    """A name that fits nothing, or more than one thing; `matches` lists what it fits."""

    def __init__(self, field: str, reason: str, matches: tuple[str, ...] = ()) -> None:
        super().__init__(field, reason)
        self.matches = matches


class StoreError(FieldnotesError):
    """The record store could not be read or written."""

    title = "Record store"


class StoreLockedError(StoreError):
    """Another process holds the store for writing."""


class PassphraseNeededError(StoreError):
    """A store that cannot be opened before its passphrase is given; `store` is its folder."""

    title = "Passphrase"

    def __init__(self, store: str) -> None:
        super().__init__(f"{store} is locked with a passphrase")
        self.store = store


class NoStoreError(StoreError):
    """There is no practice here yet."""


@dataclass(frozen=True)
class Problem:
    """One thing wrong with one field of a form or file; shown beside that field."""

    field: str
    message: str
