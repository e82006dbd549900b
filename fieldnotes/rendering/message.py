"""The aftercare message (RFC 5322, MIME): text and HTML, the calendar inline and attached."""

from __future__ import annotations

import re
from dataclasses import dataclass
from email import message_from_bytes, policy
from email.headerregistry import Address
from email.message import EmailMessage
from email.utils import format_datetime
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import FieldnotesError, RefusedInputError
from fieldnotes.domain.text import clean_line

if TYPE_CHECKING:
    import datetime as dt

_ENCODED_WORD = re.compile(r"=\?")
_LOCAL_PART = re.compile(r"[A-Za-z0-9.!#$%&'*+/=?^_`{|}~-]+")
SMTP = policy.SMTP.clone(max_line_length=78)


@dataclass(frozen=True)
class Mailbox:
    """A display name and an address."""

    name: str
    address: str


@dataclass(frozen=True)
class Letter:
    """Everything a message is made of; `calendar` None where nothing is due."""

    sender: Mailbox
    recipients: tuple[Mailbox, ...]
    subject: str
    text: str
    html: str
    calendar: bytes | None
    calendar_name: str
    message_id: str
    date: dt.datetime


def header_text(text: str) -> str:
    """Give one line that cannot become a header or an encoded word of its own."""
    return _ENCODED_WORD.sub("= ?", clean_line(text))


def _address(mailbox: Mailbox) -> Address:
    local, at, domain = mailbox.address.strip().rpartition("@")
    if not at or not _LOCAL_PART.fullmatch(local) or not domain.isascii():
        raise RefusedInputError("email", f"'{mailbox.address}' is not an email address")
    try:
        return Address(header_text(mailbox.name), local, domain)
    except ValueError as error:
        raise RefusedInputError("email", f"'{mailbox.address}': {error}") from error


def compose(letter: Letter) -> bytes:
    """Give the message's bytes, read back and compared with what was meant."""
    message = EmailMessage(policy=SMTP)
    message["From"] = _address(letter.sender)
    message["To"] = tuple(_address(r) for r in letter.recipients)
    message["Subject"] = header_text(letter.subject)
    message["Date"] = format_datetime(letter.date)
    message["Message-ID"] = letter.message_id
    message.set_content(letter.text, charset="utf-8", cte="quoted-printable")
    message.add_alternative(letter.html, subtype="html", charset="utf-8", cte="quoted-printable")
    if letter.calendar is not None:
        _add_calendar(message, letter.calendar, letter.calendar_name)
    data = message.as_bytes(policy=SMTP)
    _read_back(data, letter)
    return data


def _add_calendar(message: EmailMessage, calendar: bytes, name: str) -> None:
    params = {"method": "PUBLISH", "charset": "UTF-8"}
    inline = EmailMessage(policy=SMTP)
    inline.set_content(calendar, "text", "calendar", cte="base64", params=params)
    del inline["MIME-Version"]
    message.attach(inline)
    message.add_attachment(calendar, "text", "calendar", filename=name, cte="base64", params=params)


def _read_back(data: bytes, letter: Letter) -> None:
    again = message_from_bytes(data, policy=policy.SMTP)
    wanted = {"from", "to", "subject", "date", "message-id", "mime-version", "content-type"}
    names = {name.lower() for name in again}
    if names - wanted - {"content-transfer-encoding"} or len(again) != len(names):
        raise FieldnotesError("the message did not read back as it was meant (headers)")
    sent_to = [a.addr_spec for a in again["To"].addresses]
    if sent_to != [r.address.strip() for r in letter.recipients]:
        raise FieldnotesError("the message did not read back as it was meant (recipients)")
