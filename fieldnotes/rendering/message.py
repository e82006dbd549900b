"""The finished mail message: RFC 5322 and MIME bytes, parsed again and compared."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from email import message_from_bytes, policy
from email.headerregistry import Address
from email.message import EmailMessage
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.text import clean_line

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.domain.patients import Owner, Practice

_POLICY = policy.SMTP.clone(max_line_length=76)

_NAME_OCTETS = 45  # 60 characters of base64 and "=?utf-8?b?", "?=" around them


@dataclass(frozen=True)
class Mailbox:
    """A display name and an address."""

    name: str
    address: str


@dataclass(frozen=True)
class Letter:
    """What a message says and to whom; `calendar` is a file of `method`, or None.

    `images` are PNG or JPEG files by the content ids the page names them with.
    """

    sender: Mailbox
    to: tuple[Mailbox, ...]
    subject: str
    text: str
    html: str
    message_id: str
    date: dt.datetime
    calendar: bytes | None = None
    calendar_name: str = "aftercare.ics"
    method: str = "PUBLISH"
    images: tuple[tuple[str, bytes], ...] = ()


def mailbox(name: str, address: str, field: str) -> Mailbox:
    """Give a checked mailbox; RefusedInputError names the field."""
    fault = address_fault(address)
    if fault:
        raise RefusedInputError(field, fault)
    return Mailbox(_short(_header(name)), _ascii(address))


def address_fault(address: str) -> str:
    """Say what is wrong with an email address, by the standards; empty if nothing is."""
    from email_validator import EmailNotValidError  # noqa: PLC0415  (print-only commands start fast)

    try:
        _ascii(address)
    except EmailNotValidError as error:
        return f"'{clean_line(address)}' is not an email address: {clean_line(str(error))}"
    return ""


def _ascii(address: str) -> str:
    """Give the address as it stands in a header; not every server takes other letters."""
    from email_validator import validate_email  # noqa: PLC0415  (print-only commands start fast)

    found = validate_email(
        address.strip(), check_deliverability=False, allow_smtputf8=False, test_environment=True
    )
    return str(found.ascii_email)


def _short(name: str) -> str:
    """Cut a display name to what one encoded word holds (RFC 2047 section 2: 75 characters)."""
    if len(name.encode()) <= _NAME_OCTETS:
        return name
    kept = name.encode()[: _NAME_OCTETS - 3].decode(errors="ignore")
    return f"{kept.rstrip()}\u2026"


def owner_mailbox(owner: Owner | None) -> Mailbox:
    """Give where an owner is written to; RefusedInputError names an owner without email."""
    if owner is None:
        raise RefusedInputError("owner", "this horse has no owner on record to write to")
    if not owner.email.strip():
        raise RefusedInputError("email", f"{clean_line(owner.name)} has no email address on record")
    return mailbox(owner.name, owner.email, "email")


def practice_mailbox(practice: Practice) -> Mailbox:
    """Give the sender; RefusedInputError if the practice has no email."""
    if not practice.email.strip():
        raise RefusedInputError("practice email", "the practice has no email address set")
    return mailbox(practice.name, practice.email, "practice email")


def message_id(store: str, case: str, number: int, domain: str) -> str:
    """Give the stable Message-ID of the so-many-th message of a case."""
    digest = hashlib.sha256(f"{store}/{case}/{number}".encode()).hexdigest()[:32]
    return f"<{digest}@{domain}>"


def message_bytes(letter: Letter) -> bytes:
    """Give the message with CRLF line ends.

    RefusedInputError if it does not read back as it was meant.
    """
    message = EmailMessage(policy=_POLICY)
    message["Date"] = letter.date
    message["From"] = _address(letter.sender)
    message["To"] = tuple(_address(box) for box in letter.to)
    message["Subject"] = _header(letter.subject)
    message["Message-ID"] = letter.message_id
    _fill(message, letter)
    _set_boundaries(message, letter)
    data = message.as_bytes()
    _compare(data, letter)
    return data


def _header(text: str) -> str:
    # A reader would decode "=?...?=" typed by a person as an encoded word.
    return clean_line(text).replace("=?", "= ?")


def _address(box: Mailbox) -> Address:
    return Address(display_name=box.name, addr_spec=box.address)


def _fill(message: EmailMessage, letter: Letter) -> None:
    message.set_content(letter.text, cte="quoted-printable")
    message.add_alternative(letter.html, subtype="html", cte="quoted-printable")
    page = next(p for p in message.walk() if p.get_content_subtype() == "html")
    for number, (cid, png) in enumerate(letter.images, 1):
        page.add_related(
            png, "image", _kind(png), cid=f"<{cid}>", filename=f"picture-{number}.{_kind(png)}",
            disposition="inline",
        )  # fmt: skip
    if letter.calendar is None:
        return
    calendar = letter.calendar.decode("utf-8")
    params = {"method": letter.method}
    message.add_alternative(calendar, subtype="calendar", cte="base64", params=params)
    message.add_attachment(
        calendar,
        subtype="calendar",
        cte="base64",
        params=params,
        filename=letter.calendar_name,
    )


def _kind(picture: bytes) -> str:
    return "jpeg" if picture.startswith(b"\xff\xd8") else "png"


def _set_boundaries(message: EmailMessage, letter: Letter) -> None:
    # "=_" cannot stand in quoted-printable or base64, so no content can hold a boundary.
    digest = hashlib.sha256(letter.message_id.encode()).hexdigest()[:24]
    multiparts = (part for part in message.walk() if part.is_multipart())
    for number, part in enumerate(multiparts, 1):
        part.set_boundary(f"=_{digest}_{number}")


def _lines(text: str) -> list[str]:
    return text.replace("\r\n", "\n").rstrip("\n").split("\n")


def _compare(data: bytes, letter: Letter) -> None:
    """Parse the bytes again: headers, recipients, parts and texts must be those meant."""
    parsed = message_from_bytes(data, policy=policy.default)
    names = [name.casefold() for name in parsed]
    meant = ["date", "from", "to", "subject", "message-id", "mime-version", "content-type"]
    to = tuple(Mailbox(a.display_name, a.addr_spec) for a in parsed["To"].addresses)
    parts = [p for p in parsed.walk() if not p.is_multipart()]
    texts = [letter.text, letter.html, *([letter.calendar.decode()] * 2 if letter.calendar else [])]
    said = [p.get_content() for p in parts if p.get_content_maintype() == "text"]
    shown = [
        (p["Content-ID"], p.get_content()) for p in parts if p.get_content_maintype() == "image"
    ]
    same = (
        set(names) <= {*meant, "content-transfer-encoding"}
        and len(names) == len(set(names))
        and to == letter.to
        and str(parsed["Subject"]) == _header(letter.subject)
        and parsed["Message-ID"] == letter.message_id
        and [_lines(t) for t in said] == [_lines(t) for t in texts]
        and shown == [(f"<{cid}>", png) for cid, png in letter.images]
        and len(parts) == len(said) + len(shown)
    )
    if not same or parsed.defects:
        raise RefusedInputError("message", "it does not read back as written; please check names")
