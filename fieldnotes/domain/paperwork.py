"""Entries about what a case's owner is written."""

from __future__ import annotations

from dataclasses import dataclass

FOR_OTHERS = ("referral", "handover", "report")
"""Papers whose reader is another vet or a clinic, never the owner."""


@dataclass(frozen=True)
class HandoutWording:
    """What the vet adds to this case's handout in own words; the newest counts, empty is none."""

    text: str


@dataclass(frozen=True)
class HandoutQueued:
    """A message put in the outbox: recipients, the hash of the exact bytes, what it carries.

    `tasks` are the keys of its calendar; `withdrawn` if it takes them out of the reader's again;
    `paper` is the kind of a paper for another reader than the owner.
    """

    message_id: str
    recipients: tuple[str, ...]
    sha256: str
    subject: str = ""
    tasks: tuple[str, ...] = ()
    withdrawn: bool = False
    paper: str = ""
