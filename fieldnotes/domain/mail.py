"""A mail's states, and the server it is handed in at."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

IMPLICIT_TLS_PORT = 465


class MailState(StrEnum):
    """Where a mail stands; an unconfirmed one may have arrived and is never resent by itself."""

    QUEUED = "queued"
    SENDING = "sending"
    SENT = "sent"
    FAILED = "failed"
    UNCONFIRMED = "unconfirmed"


class Outcome(StrEnum):
    """What became of one attempt to hand a mail in."""

    SENT = "sent"
    RETRY = "retry later"
    REFUSED = "refused"
    UNCONFIRMED = "unconfirmed"


@dataclass(frozen=True)
class Attempt:
    """The outcome and what the server or the network said."""

    outcome: Outcome
    detail: str = ""


@dataclass(frozen=True)
class MailServer:
    """Where a practice hands mail in; the password is never part of a record.

    Port 465 is TLS from the start, any other needs STARTTLS; without `sender` it is
    the practice's email.
    """

    host: str
    port: int = IMPLICIT_TLS_PORT
    user: str = ""
    sender: str = ""
