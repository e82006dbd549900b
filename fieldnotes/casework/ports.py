"""What casework needs of the outside, as small protocols: records, mail, a clock."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    import datetime as dt
    from contextlib import AbstractContextManager

    from fieldnotes.domain.cases import Case, CaseLine
    from fieldnotes.domain.driving import Road
    from fieldnotes.domain.entries import Body, Entry
    from fieldnotes.domain.mail import Attempt, MailServer, MailState
    from fieldnotes.domain.register import Register

Clock = Callable[[], "dt.datetime"]
"""Gives the present moment, timezone-aware."""


class Pictures(Protocol):
    """Where photographs lie, as casework sees it; each is named by its case and own SHA-256."""

    def put(self, case: str, data: bytes) -> str:
        """Keep a picture, durably, and give its hash; one that is there already is left."""

    def get(self, case: str, sha256: str) -> bytes:
        """Give a picture; StoreError if it is missing or was altered."""

    def take_in(self, path: str, most_bytes: int) -> bytes:
        """Read a file from outside; RefusedInputError says what is wrong with it."""

    def give_out(self, path: str, data: bytes) -> None:
        """Write a file outside; RefusedInputError if it is there already or cannot be."""


class Handovers(Protocol):
    """Cases given to a colleague, as casework sees them."""

    @property
    def fingerprint(self) -> str:
        """What the colleague compares: this computer's key."""

    def give(self, ref: str, by: str, now: dt.datetime) -> bytes:
        """Give a case as one signed file."""


class Records(Protocol):
    """The record store, as casework sees it."""

    @property
    def handovers(self) -> Handovers:
        """What is given to a colleague."""

    @property
    def pictures(self) -> Pictures:
        """Where photographs lie."""

    @property
    def id(self) -> str:
        """The store's own random id."""

    @property
    def problems(self) -> Sequence[str]:
        """What could not be read, in words."""

    def templates(self) -> Mapping[str, str]:
        """Give the practice's own templates by name."""

    def register(self) -> Register:
        """Give everyone and everything known."""

    def vials(self) -> tuple[Entry, ...]:
        """Give the entries of the controlled-drug register."""

    def road(self) -> Road:
        """Give what was said on the road."""

    def lines(self, *, open_only: bool = False, horse: str = "") -> tuple[CaseLine, ...]:
        """Give the cases as a list knows them, or one horse's, newest injury first."""

    def resolve(self, ref: str) -> str:
        """Give the full reference from any unique beginning."""

    def case(self, ref: str) -> Case:
        """Give one folded case."""

    def documents(self, ref: str, kind: str | None = None) -> tuple[dict[str, Any], ...]:
        """Give a case's entries as they stand on disk."""

    def append(
        self, stream: str, bodies: Sequence[Body], author: str, time: dt.datetime
    ) -> tuple[Entry, ...]:
        """Add signed entries; each is on the medium when this returns."""

    def new_ref(self) -> str:
        """Give a case reference not used yet."""


class Mail(Protocol):
    """A mail in the outbox, as a list shows it."""

    @property
    def id(self) -> str:
        """Its id in the outbox."""

    @property
    def case(self) -> str:
        """The case it is about."""

    @property
    def recipients(self) -> tuple[str, ...]:
        """Who it goes to."""

    @property
    def queued_at(self) -> dt.datetime:
        """When it was queued."""

    @property
    def state(self) -> MailState:
        """Where it stands."""

    @property
    def detail(self) -> str:
        """What the server said last."""

    @property
    def message_id(self) -> str:
        """Its Message-ID."""


class MailQueue(Protocol):
    """The outbox, as casework sees it."""

    @property
    def holding(self) -> Callable[[], AbstractContextManager[None]]:
        """Hold the store for as long as mail is being sent."""

    def prepare(
        self,
        message: bytes,
        recipients: Sequence[str],
        case: str,
        message_id: str,
        now: dt.datetime,
    ) -> Mail:
        """Write one finished message that is not in the outbox before `commit`."""

    def commit(self, mail_id: str) -> Mail:
        """Put a prepared message in the outbox, durably."""

    def prepared(self) -> tuple[Mail, ...]:
        """Give what was prepared and never committed."""

    def list(self) -> tuple[Mail, ...]:
        """Give all mails, oldest first."""

    def get(self, mail_id: str) -> Mail:
        """Give one mail by its id."""

    def message(self, mail_id: str) -> bytes:
        """Give the exact bytes queued."""

    def mark(
        self,
        mail_id: str,
        state: MailState,
        now: dt.datetime,
        detail: str = "",
        *,
        handed_over: bool = False,
    ) -> Mail:
        """Change a mail's state, durably."""

    def settle(self, now: dt.datetime) -> tuple[Mail, ...]:
        """Settle what a killed program left half sent."""


class Carrier(Protocol):
    """Hands a finished message to a mail server; knows where its password is kept."""

    def hand_in(
        self,
        message: bytes,
        sender: str,
        recipients: Sequence[str],
        server: MailServer,
        *,
        password: str,
        before_data: Callable[[], object],
    ) -> Attempt:
        """Make one attempt; `before_data` is called right before the text leaves the machine."""

    def password(self, server: MailServer) -> str | None:
        """Give the password kept in the system's keyring, None if it keeps none."""

    def keep(self, server: MailServer, password: str) -> bool:
        """Keep a password in the system's keyring; False where there is none."""
