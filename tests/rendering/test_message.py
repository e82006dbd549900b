from __future__ import annotations

import re
from email import message_from_bytes, policy
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.text import clean_line
from fieldnotes.rendering.calendars import CalendarTask, Publisher, owner_calendar
from fieldnotes.rendering.message import (
    Letter,
    mailbox,
    message_bytes,
    message_id,
    owner_mailbox,
    practice_mailbox,
)
from tests.builders import a_practice, an_owner, at
from tests.rendering.handouts import PLAN

GOLDEN = Path(__file__).parents[1] / "golden"
CALENDAR = owner_calendar(
    [CalendarTask(t, "Bramble") for t in PLAN], Publisher("store-1", a_practice(), at(0, 12))
)


def a_letter(**changes):
    values = {
        "sender": practice_mailbox(a_practice()),
        "to": (owner_mailbox(an_owner()),),
        "subject": "Aftercare for Bramble",
        "text": "Keep the leg dry.\n",
        "html": "<p>Keep the leg dry.</p>\n",
        "message_id": message_id("store-1", "C1", 0, "example.org"),
        "date": at(0, 12),
        "calendar": CALENDAR,
    }
    return Letter(**(values | changes))


def parsed(data: bytes):
    return message_from_bytes(data, policy=policy.default)


def test_the_message_reads_as_agreed():
    assert message_bytes(a_letter()) == (GOLDEN / "message.eml").read_bytes()


def test_the_message_keeps_rfc_5322_and_mime():
    # RFC 5322 sections 2.1.1, 2.3, 3.6; RFC 2045 sections 4 and 6; RFC 2046 section 5.1.4.
    data = message_bytes(a_letter(text="Gr\u00fc\u00dfe " * 200, subject="Aftercare " * 30))
    lines = data.split(b"\r\n")
    assert not any(b"\r" in line or b"\n" in line for line in lines)
    assert max(len(line) for line in lines) <= 78
    message = parsed(data)
    for name in ("Date", "From", "To", "Subject", "Message-ID", "MIME-Version"):
        assert len(message.get_all(name)) == 1
    assert message.get_content_type() == "multipart/mixed"
    alternative, attached = message.iter_parts()
    kinds = [p.get_content_type() for p in alternative.iter_parts()]
    assert kinds == ["text/plain", "text/html", "text/calendar"]
    assert attached.get_content_disposition() == "attachment"
    assert attached.get_filename() == "aftercare.ics"


def test_every_calendar_part_carries_the_method_of_its_calendar():
    # RFC 5545 section 3.7.2
    parts = [p for p in parsed(message_bytes(a_letter())).walk() if "calendar" in p["Content-Type"]]
    assert len(parts) == 2
    for part in parts:
        assert part.get_param("method") == "PUBLISH"
        assert part.get_param("charset").casefold() == "utf-8"
        assert part.get_payload(decode=True) == CALENDAR


def test_with_nothing_due_there_is_no_calendar_part():
    data = message_bytes(a_letter(calendar=None))
    assert parsed(data).get_content_type() == "multipart/alternative"
    assert b"calendar" not in data


def test_an_accented_subject_is_encoded_as_rfc_2047_says():
    # RFC 2047 section 2
    data = message_bytes(a_letter(subject="Aftercare for \u00c9b\u00e8ne"))
    assert b"Subject: Aftercare for =?utf-8?q?=C3=89b=C3=A8ne?=\r\n" in data


def test_an_owner_without_email_is_named():
    with pytest.raises(RefusedInputError, match="Olive Owner has no email"):
        owner_mailbox(an_owner(email=""))


@pytest.mark.parametrize(
    "address",
    [
        "olive",
        "olive@",
        "a@b",
        "a b@example.org",
        "a@example.org\nBcc: x@example.org",
        "@x.org",
        "a@example..org",
        "a..b@example.org",
        "a@example.org, b@example.org",
        "<a@example.org>",
    ],
)
def test_what_is_no_address_is_refused(address):
    with pytest.raises(RefusedInputError, match="email"):
        mailbox("Olive", address, "email")


HOSTILE = [
    f"{a}{b}"
    for a in (
        "", "Olive", "\u00c9b\u00e8ne", "\U0001f40e " * 30, "O\u0627\u0644", '"q" \\', "a" * 990)
    for b in (
        "\r\nBcc: thief@example.org",
        "\nSubject: other",
        "=?utf-8?q?=0D=0ABcc:_x@example.org?=",
        "=?utf-8?b?YQ==?=",
        ", Second <second@example.org>",
        "<x@example.org>",
        "\x00\x0b\x0c\x1b",
        "\u2028\u2029\u202e",
        "; group: a@example.org;",
        "(comment)",
        "@example.org",
        "\t tab",
        "'",
        ":",
        " ",
    )
]  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_name_adds_no_header_and_no_recipient(name):
    letter = a_letter(to=(owner_mailbox(an_owner(name=name)),), subject=f"Aftercare for {name}")
    message = parsed(message_bytes(letter))
    assert [a.addr_spec for a in message["To"].addresses] == ["olive@example.org"]
    assert message["Bcc"] is None
    whole = clean_line(name).replace("=?", "= ?")
    assert whole.startswith(message["To"].addresses[0].display_name.removesuffix("\u2026"))
    assert str(message["Subject"]) == clean_line(f"Aftercare for {whole}")
    head = message_bytes(letter).split(b"\r\n\r\n")[0]
    names = re.findall(rb"(?m)^([A-Za-z-]+):", head)
    assert sorted(names) == sorted(
        [b"Date", b"From", b"To", b"Subject", b"Message-ID", b"MIME-Version", b"Content-Type"]
    )


@given(st.text(max_size=120), st.text(max_size=120))
@settings(max_examples=200, deadline=None)
def test_any_name_and_subject_read_back_or_are_refused(name, subject):
    try:
        data = message_bytes(
            a_letter(to=(owner_mailbox(an_owner(name=name)),), subject=subject, calendar=None)
        )
    except RefusedInputError:
        return
    message = parsed(data)
    assert [a.addr_spec for a in message["To"].addresses] == ["olive@example.org"]
    assert str(message["Subject"]) == clean_line(subject).replace("=?", "= ?")
