"""The outbox: one folder for each mail, its bytes written once, its state replaced whole.

A mail is prepared, then the record says that it was queued, then it is committed: what a crash
in between leaves is either nothing, or a mail the record knows, which is then committed.
"""

from __future__ import annotations

import datetime as dt
import json
import re
from contextlib import nullcontext
from dataclasses import asdict, dataclass, replace
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from fieldnotes.domain.errors import StoreError, StoreLockedError, UnknownNameError
from fieldnotes.domain.mail import MailState
from fieldnotes.storage.cipher import cipher_of
from fieldnotes.storage.durable import replace_file

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from contextlib import AbstractContextManager
    from pathlib import Path

FOLDER = "outbox"
_MESSAGE, _PREPARED, _STATE = "message.eml", "prepared.json", "state.json"
_ID = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True)
class Mail:
    """A mail in the outbox; `detail` is what the server said last."""

    id: str
    case: str
    recipients: tuple[str, ...]
    message_id: str
    sha256: str
    queued_at: dt.datetime
    state: MailState = MailState.QUEUED
    changed_at: dt.datetime | None = None
    attempts: int = 0
    handed_over: bool = False
    detail: str = ""


_ALLOWED = {
    MailState.QUEUED: {MailState.SENDING, MailState.FAILED},
    MailState.SENDING: {
        MailState.SENDING,
        MailState.QUEUED,
        MailState.SENT,
        MailState.FAILED,
        MailState.UNCONFIRMED,
    },
    MailState.FAILED: {MailState.QUEUED},
    # Only a person decides about these: send again with the same Message-ID, or call it sent.
    MailState.UNCONFIRMED: {MailState.QUEUED, MailState.SENT},
    MailState.SENT: set(),
}


class Outbox:
    """The queued, sent and doubtful mails of one store.

    `writing` holds the store's lock; `holding` does so for as long as mail is being sent.
    """

    def __init__(
        self,
        data: Path,
        *,
        read_only: bool = False,
        writing: Callable[[], AbstractContextManager[None]] = nullcontext,
    ) -> None:
        self._folder = data / FOLDER
        self._read_only = read_only
        self._cipher = cipher_of(data)
        self.holding = writing

    def queue(
        self,
        message: bytes,
        recipients: Sequence[str],
        case: str,
        message_id: str,
        now: dt.datetime,
    ) -> Mail:
        """Put one finished message in the outbox, durably; the same Message-ID only once."""
        return self.commit(self.prepare(message, recipients, case, message_id, now).id)

    def prepare(
        self,
        message: bytes,
        recipients: Sequence[str],
        case: str,
        message_id: str,
        now: dt.datetime,
    ) -> Mail:
        """Write a message that is not in the outbox before `commit`; one never committed goes."""
        mail_id = sha256(message_id.encode()).hexdigest()[:32]
        mail = Mail(
            id=mail_id,
            case=case,
            recipients=tuple(recipients),
            message_id=message_id,
            sha256=sha256(message).hexdigest(),
            queued_at=now,
        )
        folder = self._folder / mail_id
        if (folder / _STATE).exists():
            raise StoreError(f"mail {mail_id} is in the outbox already")
        self._refuse_read_only()
        with self.holding():
            self._put(folder / _MESSAGE, message)
            self._put(folder / _PREPARED, _text(mail))
        return mail

    def commit(self, mail_id: str) -> Mail:
        """Put a prepared message in the outbox; nothing happens if it is in it."""
        folder = self._folder / mail_id
        if not (folder / _STATE).exists():
            mail = self._read(folder / _PREPARED)
            self._write(mail)
        (folder / _PREPARED).unlink(missing_ok=True)
        return self.get(mail_id)

    def prepared(self) -> tuple[Mail, ...]:
        """Give what was prepared and never committed."""
        if self._read_only or not self._folder.is_dir():
            return ()
        return tuple(self._read(p) for p in self._folder.glob(f"*/{_PREPARED}"))

    def list(self) -> tuple[Mail, ...]:
        """Give all mails, oldest first; one whose state is missing was never queued."""
        if not self._folder.is_dir():
            return ()
        found = [self._read(p) for p in self._folder.glob(f"*/{_STATE}")]
        return tuple(sorted(found, key=lambda m: (m.queued_at, m.id)))

    def get(self, mail_id: str) -> Mail:
        """Give one mail by its id."""
        if not _ID.fullmatch(mail_id) or not (self._folder / mail_id / _STATE).is_file():
            raise UnknownNameError("mail", f"no mail {mail_id} in the outbox")
        return self._read(self._folder / mail_id / _STATE)

    def message(self, mail_id: str) -> bytes:
        """Give the exact bytes; StoreError if they are not those queued."""
        mail = self.get(mail_id)
        data = self._cipher.read(self._folder / mail_id / _MESSAGE)
        if sha256(data).hexdigest() != mail.sha256:
            raise StoreError(f"mail {mail_id} was changed on disk and is not sent")
        return data

    def mark(
        self,
        mail_id: str,
        state: MailState,
        now: dt.datetime,
        detail: str = "",
        *,
        handed_over: bool = False,
    ) -> Mail:
        """Change a mail's state, on the medium when this returns.

        SENDING is marked before connecting, and once more with `handed_over` before DATA.
        """
        mail = self.get(mail_id)
        if state not in _ALLOWED[mail.state]:
            raise StoreError(f"a mail that is {mail.state} cannot become {state}")
        begins = state is MailState.SENDING and mail.state is not MailState.SENDING
        changed = replace(
            mail,
            state=state,
            changed_at=now,
            attempts=mail.attempts + begins,
            handed_over=handed_over,
            detail=detail,
        )
        self._write(changed)
        return changed

    def settle(self, now: dt.datetime) -> tuple[Mail, ...]:
        """Settle what a killed program left in SENDING, and give it.

        Before DATA nothing can have arrived: queued again. After it: unconfirmed.
        """
        left = (m for m in self.list() if m.state is MailState.SENDING)
        return tuple(
            self.mark(
                m.id,
                MailState.UNCONFIRMED if m.handed_over else MailState.QUEUED,
                now,
                "the program stopped while sending",
            )
            for m in left
        )

    def _refuse_read_only(self) -> None:
        if self._read_only:
            raise StoreLockedError("this store is opened to read only; its outbox stays as it is")

    def _write(self, mail: Mail) -> None:
        self._refuse_read_only()
        with self.holding():
            self._put(self._folder / mail.id / _STATE, _text(mail))

    def _put(self, path: Path, data: bytes) -> None:
        replace_file(path, self._cipher.encrypt(path, data))

    def _read(self, path: Path) -> Mail:
        try:
            return _mail(json.loads(self._cipher.read(path)))
        except (OSError, StoreError, ValueError, KeyError, TypeError) as error:
            raise StoreError(f"outbox {path.parent.name}: {path.name} ({error})") from error


def _text(mail: Mail) -> bytes:
    return json.dumps(asdict(mail), default=str, ensure_ascii=False, indent=1).encode()


def _mail(data: dict[str, Any]) -> Mail:
    changed = data["changed_at"]
    return Mail(
        **data
        | {
            "recipients": tuple(data["recipients"]),
            "queued_at": dt.datetime.fromisoformat(data["queued_at"]),
            "changed_at": dt.datetime.fromisoformat(changed) if changed else None,
            "state": MailState(data["state"]),
        }
    )
