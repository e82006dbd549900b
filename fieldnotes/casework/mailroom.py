"""Sends what is queued, one mail after another, and holds back what must not go out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.casework.dying import deaths
from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.domain.mail import MailState, Outcome
from fieldnotes.domain.paperwork import FOR_OTHERS

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.ports import Carrier, Mail, MailQueue
    from fieldnotes.domain.mail import MailServer

DIED = "the horse died: nothing is sent by itself"
STATE_AFTER = {
    Outcome.SENT: MailState.SENT,
    Outcome.RETRY: MailState.QUEUED,
    Outcome.REFUSED: MailState.FAILED,
    Outcome.UNCONFIRMED: MailState.UNCONFIRMED,
}


@dataclass(frozen=True)
class Mailroom:
    """The outbox of a desk and who carries its mail."""

    desk: Casework
    queue: MailQueue
    carrier: Carrier

    def send(
        self,
        server: MailServer,
        password: str,
        progress: Callable[[int, int], bool] | None = None,
    ) -> tuple[Mail, ...]:
        """Send what is queued and may go; give each as it now stands.

        `progress` is told how many of how many are done; it stops the rest by giving False.
        The store is held meanwhile: two senders would send one mail twice.
        """
        with self.queue.holding():
            return self._send_all(server, password, progress)

    def _send_all(
        self, server: MailServer, password: str, progress: Callable[[int, int], bool] | None
    ) -> tuple[Mail, ...]:
        self.queue.settle(self.desk.now())
        waiting = [m for m in self.queue.list() if m.state is MailState.QUEUED]
        done: list[Mail] = []
        for number, mail in enumerate(waiting):
            if progress is not None and not progress(number, len(waiting)):
                break
            done.append(self._one(mail, server, password))
        if progress is not None:
            progress(len(done), len(waiting))
        return tuple(done)

    def held(self, mail: Mail) -> str:
        """Say why a mail must not go out by itself now; empty if it may.

        What takes a calendar out of an owner's phone goes, since the vet's own key queued it; so
        does a paper for another reader.
        """
        try:
            case = self.desk.case(mail.case)
        except StoreError:
            return "its case cannot be read: nobody knows whether it may go"
        told = (h.body for h in case.handouts if h.body.message_id == mail.message_id)
        if any(body.withdrawn or body.paper in FOR_OTHERS for body in told):
            return ""
        if deaths(self.desk.cases_of(case.opened.horse)):
            return DIED
        return "the case is on hold" if case.on_hold else ""

    def _one(self, mail: Mail, server: MailServer, password: str) -> Mail:
        why = self.held(mail)
        if why:
            return self._hold(mail, why)
        data, now = self.queue.message(mail.id), self.desk.now
        self.queue.mark(mail.id, MailState.SENDING, now())

        def hand_over() -> None:
            self.queue.mark(mail.id, MailState.SENDING, now(), handed_over=True)

        sender = server.sender or self.desk.practice().email
        attempt = self.carrier.hand_in(
            data, sender, mail.recipients, server, password=password, before_data=hand_over
        )
        return self.queue.mark(mail.id, STATE_AFTER[attempt.outcome], now(), attempt.detail)

    def _hold(self, mail: Mail, why: str) -> Mail:
        """Leave a held case's mail queued; a dead horse's is taken out of the queue for good."""
        if why != DIED:
            return mail
        return self.queue.mark(mail.id, MailState.FAILED, self.desk.now(), why)

    def decide(self, mail_id: str, state: MailState) -> Mail:
        """Do what a person decides about a doubtful or failed mail: send again, or call it sent."""
        mail = next((m for m in self.queue.list() if m.id.startswith(mail_id)), None)
        if mail is None or not mail_id:
            raise RefusedInputError("mail", f"no mail '{mail_id}' is in the outbox")
        if state not in {MailState.QUEUED, MailState.SENT}:
            raise RefusedInputError("state", "a person sends again, or calls it sent")
        return self.queue.mark(mail.id, state, self.desk.now(), "decided by hand")
