"""Sends the outbox from a thread: the desk is free while the network is waited for."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from textual.message import Message

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from threading import Lock

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.ports import Carrier, Mail
    from fieldnotes.domain.mail import Attempt, MailServer


class LettersSent(Message):
    """The queue was worked through, as far as it was not stopped."""

    def __init__(self, mails: tuple[Mail, ...]) -> None:
        super().__init__()
        self.mails = mails


class PasswordWanted(Message):
    """The mail server wants a password that no keyring keeps."""

    def __init__(self, user: str) -> None:
        super().__init__()
        self.user = user


class _Unlocking:
    """The desk's carrier; it gives the desk's lock back while the server is talked to."""

    def __init__(self, carrier: Carrier, lock: Lock) -> None:
        self._carrier = carrier
        self._lock = lock

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
        """Make one attempt without the lock."""

        def locked() -> object:
            with self._lock:
                return before_data()

        with _released(self._lock):
            return self._carrier.hand_in(
                message, sender, recipients, server, password=password, before_data=locked
            )

    def password(self, server: MailServer) -> str | None:
        """Give the password kept."""
        return self._carrier.password(server)

    def keep(self, server: MailServer, password: str) -> bool:
        """Keep a password."""
        return self._carrier.keep(server, password)


@contextmanager
def _released(lock: Lock) -> Iterator[None]:
    lock.release()
    try:
        yield
    finally:
        lock.acquire()


def send_all(
    desk: Casework, lock: Lock, password: str | None, progress: Callable[[int, int], bool]
) -> Message:
    """Send what waits, the lock held by the caller; ask for a password where none is known."""
    server = desk.post.server()
    known = password if password is not None else desk.post.password(server)
    if known is None:
        return PasswordWanted(server.user)
    room = desk.post.mailroom()
    room = replace(room, carrier=_Unlocking(room.carrier, lock))
    return LettersSent(room.send(server, known, progress))
