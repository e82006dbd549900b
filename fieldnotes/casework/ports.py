"""What casework needs of the outside, as small protocols: records, mail, a clock."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.domain.cases import Case, CaseLine
    from fieldnotes.domain.entries import Body, Entry
    from fieldnotes.domain.register import Register

Clock = Callable[[], "dt.datetime"]
"""Gives the present moment, timezone-aware."""


class Records(Protocol):
    """The record store, as casework sees it."""

    @property
    def id(self) -> str:
        """The store's own random id."""

    @property
    def problems(self) -> Sequence[str]:
        """What could not be read, in words."""

    def register(self) -> Register:
        """Give everyone and everything known."""

    def lines(self, *, open_only: bool = False) -> tuple[CaseLine, ...]:
        """Give the cases as a list knows them, newest injury first."""

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


class MailQueue(Protocol):
    """The outbox, as casework sees it."""

    def queue(
        self,
        message: bytes,
        recipients: Sequence[str],
        case: str,
        message_id: str,
        now: dt.datetime,
    ) -> object:
        """Put one finished message in the outbox, durably."""
