from __future__ import annotations

import json

import pytest

from fieldnotes.domain.errors import StoreError, UnknownNameError
from fieldnotes.domain.mail import MailState
from fieldnotes.storage.outbox import Outbox
from tests.builders import at

MESSAGE = b"Subject: Aftercare\r\n\r\nKeep the leg dry.\r\n"


@pytest.fixture
def box(tmp_path):
    return Outbox(tmp_path)


def queued(box, number=0):
    return box.queue(MESSAGE, ("olive@example.org",), "C1", f"<{number}@example.org>", at(number))


def test_a_queued_mail_waits_with_its_exact_bytes(box, tmp_path):
    mail = queued(box)
    again = Outbox(tmp_path)
    assert again.list() == (mail,)
    assert again.message(mail.id) == MESSAGE
    assert mail.state is MailState.QUEUED


def test_mails_are_listed_oldest_first(box):
    later, sooner = queued(box, 3), queued(box, 1)
    assert box.list() == (sooner, later)


def test_one_message_id_is_queued_only_once(box):
    queued(box)
    with pytest.raises(StoreError):
        queued(box)


def test_the_sent_bytes_are_kept_and_a_sent_mail_never_leaves_again(box):
    mail = queued(box)
    box.mark(mail.id, MailState.SENDING, at(1))
    sent = box.mark(mail.id, MailState.SENT, at(1), "250 ok")
    assert (sent.attempts, sent.detail) == (1, "250 ok")
    assert box.message(mail.id) == MESSAGE
    with pytest.raises(StoreError, match="sent cannot become sending"):
        box.mark(mail.id, MailState.SENDING, at(2))


def test_an_unconfirmed_mail_leaves_only_after_a_person_decided(box):
    mail = queued(box)
    box.mark(mail.id, MailState.SENDING, at(1))
    box.mark(mail.id, MailState.UNCONFIRMED, at(1))
    with pytest.raises(StoreError):
        box.mark(mail.id, MailState.SENDING, at(2))
    assert box.mark(mail.id, MailState.QUEUED, at(2)).message_id == mail.message_id


def test_a_kill_before_the_text_left_queues_again_and_after_it_leaves_doubt(box, tmp_path):
    before, after = queued(box, 0), queued(box, 1)
    box.mark(before.id, MailState.SENDING, at(2))
    box.mark(after.id, MailState.SENDING, at(2))
    box.mark(after.id, MailState.SENDING, at(2), handed_over=True)
    states = {m.id: m.state for m in Outbox(tmp_path).settle(at(3))}
    assert states == {before.id: MailState.QUEUED, after.id: MailState.UNCONFIRMED}


def test_changed_bytes_are_not_sent(box, tmp_path):
    mail = queued(box)
    path = tmp_path / "outbox" / mail.id / "message.eml"
    path.write_bytes(MESSAGE + b"x")
    with pytest.raises(StoreError, match="changed on disk"):
        box.message(mail.id)


def test_a_half_queued_mail_does_not_count(box, tmp_path):
    # Killed between bytes and state: nobody was told it is queued.
    folder = tmp_path / "outbox" / ("0" * 32)
    folder.mkdir(parents=True)
    (folder / "message.eml").write_bytes(MESSAGE)
    assert box.list() == ()


def test_an_unreadable_state_is_named(box, tmp_path):
    mail = queued(box)
    (tmp_path / "outbox" / mail.id / "state.json").write_text(json.dumps({"id": 1}))
    with pytest.raises(StoreError, match=mail.id):
        box.list()


@pytest.mark.parametrize("name", ["../case", "", "zz"])
def test_a_strange_id_is_refused(box, name):
    with pytest.raises(UnknownNameError):
        box.get(name)
