"""Mail from the queue to a real SMTP server on this machine: aiosmtpd with TLS and a password."""

from __future__ import annotations

import socket
import ssl
from collections import Counter
from contextlib import nullcontext
from email import message_from_bytes, policy

import pytest
import trustme
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult

from fieldnotes.casework.desk import Casework
from fieldnotes.cli.carrier import MailCarrier
from fieldnotes.domain.entries import Death, Hold, HorseSet
from fieldnotes.domain.errors import RefusedInputError, StoreError, StoreLockedError
from fieldnotes.domain.mail import MailServer, MailState
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.durable import replace_file
from fieldnotes.storage.outbox import Outbox
from tests.builders import DAY0, a_horse, an_opening, at, day
from tests.desks import Clock, first_visit, known

USER, PASSWORD = "vets", "correct horse"
BEFORE = ("ehlo", "auth", "mail", "rcpt", "refuse mail", "refuse rcpt", "refuse data")
DOUBTFUL = ("lost before the reply", "stored, reply lost")


class Post:
    """Takes mail in; fails once at the point it was told, at the second mail."""

    def __init__(self):
        self.fault, self.seen, self.taken = "", Counter(), []

    def _now(self, point):
        self.seen[point] += 1
        return self.fault == point and self.seen[point] == 2

    async def handle_EHLO(self, server, session, envelope, hostname, responses):  # noqa: N802  (aiosmtpd calls it so)
        if session.ssl is not None and self._now("ehlo"):
            server.transport.abort()
        session.host_name = hostname
        return responses

    async def handle_MAIL(self, server, session, envelope, address, options):  # noqa: N802  (aiosmtpd calls it so)
        if self._now("mail"):
            server.transport.abort()
        if self._now("refuse mail"):
            return "550 not from here"
        envelope.mail_from = address
        return "250 ok"

    async def handle_RCPT(self, server, session, envelope, address, options):  # noqa: N802  (aiosmtpd calls it so)
        if self._now("rcpt"):
            server.transport.abort()
        if self._now("refuse rcpt"):
            return "451 come back later"
        envelope.rcpt_tos.append(address)
        return "250 ok"

    async def handle_DATA(self, server, session, envelope):  # noqa: N802  (aiosmtpd calls it so)
        if self._now("refuse data"):
            return "451 no room now"
        if self._now("lost before the reply"):
            server.transport.abort()
            return "250 never read"
        self.taken.append(envelope.original_content)
        if self._now("stored, reply lost"):
            server.transport.abort()
        return "250 kept"

    def check(self, server, session, envelope, mechanism, data):
        if self._now("auth"):
            server.transport.abort()
        good = (data.login, data.password) == (USER.encode(), PASSWORD.encode())
        return AuthResult(success=good, handled=False)


@pytest.fixture(scope="module")
def authority():
    return trustme.CA()


@pytest.fixture
def post(authority):
    handler = Post()
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    authority.issue_cert("localhost").configure_cert(context)

    class Server(Controller):
        def factory(self):
            return SMTP(
                handler, tls_context=context, require_starttls=True, auth_required=True,
                authenticator=handler.check, hostname="localhost",
            )  # fmt: skip

    with socket.create_server(("127.0.0.1", 0)) as found:
        port = found.getsockname()[1]
    controller = Server(handler, hostname="127.0.0.1", port=port)
    controller.start()
    yield handler, MailServer("localhost", port, USER)
    controller.stop()


@pytest.fixture
def carrier(authority):
    context = ssl.create_default_context()
    authority.configure_trust(context)
    return MailCarrier(context, timeout_s=5.0)


@pytest.fixture
def desk(tmp_path, carrier):
    create_store(tmp_path / "store")
    book = Casebook(tmp_path / "store")
    box = Outbox(tmp_path / "store", writing=book.writing)
    return known(Casework(book, Clock(at(0, 12)), mail=box, carrier=carrier))


def queue(desk, number, **opening):
    opened = an_opening(**opening)
    refs = [desk.open_case(opened, first_visit()).ref for _ in range(number)]
    for ref in refs:
        desk.post.queue_handout(ref)
    return refs


def ids(taken):
    parsed = (message_from_bytes(data, policy=policy.default) for data in taken)
    return Counter(m["Message-ID"] for m in parsed)


def states(desk):
    return [m.state for m in desk.post.outbox()]


@pytest.mark.parametrize("fault", [*BEFORE, *DOUBTFUL])
def test_a_fault_at_any_point_loses_no_mail_and_doubles_none(desk, post, fault):
    handler, server = post
    queue(desk, 3)
    handler.fault = fault
    room = desk.post.mailroom()
    room.send(server, PASSWORD)
    after_first = states(desk)
    handler.fault = ""
    room.send(server, PASSWORD)
    sent = ids(handler.taken)
    assert max(sent.values()) == 1  # none doubled
    if fault in DOUBTFUL:
        assert after_first.count(MailState.UNCONFIRMED) == 1
        assert sorted(states(desk)) == sorted(after_first)  # never sent again by itself
        assert len(sent) == (3 if fault == "stored, reply lost" else 2)
    elif fault == "refuse mail":
        assert states(desk).count(MailState.FAILED) == 1  # kept, and said
    else:
        assert states(desk) == [MailState.SENT] * 3
        assert len(sent) == 3


def test_the_bytes_that_arrive_are_those_kept_with_the_case(desk, post):
    handler, server = post
    (ref,) = queue(desk, 1)
    desk.post.mailroom().send(server, PASSWORD)
    (mail,) = desk.post.outbox()
    assert handler.taken == [desk.post.mailroom().queue.message(mail.id)]
    assert desk.case(ref).handouts[0].body.sha256 == mail.sha256


def test_a_wrong_password_is_said_and_the_mail_is_kept(desk, post):
    handler, server = post
    queue(desk, 1)
    (mail,) = desk.post.mailroom().send(server, "wrong")
    assert (mail.state, handler.taken) == (MailState.QUEUED, [])
    assert "535" in mail.detail
    room = desk.post.mailroom()
    assert [m.state for m in room.send(server, PASSWORD)] == [MailState.SENT]


def test_a_server_whose_certificate_nobody_vouches_for_gets_nothing(desk, post):
    handler, server = post
    queue(desk, 1)
    stranger = Casework(desk._records, Clock(at(0, 12)), mail=desk._mail, carrier=MailCarrier())
    (mail,) = stranger.post.mailroom().send(server, PASSWORD)
    assert (mail.state, handler.taken) == (MailState.FAILED, [])
    assert "TLS" in mail.detail


def test_without_a_network_the_mail_waits(desk):
    queue(desk, 1)
    (mail,) = desk.post.mailroom().send(MailServer("localhost", 1, USER), PASSWORD)
    assert mail.state is MailState.QUEUED


def test_sending_can_be_stopped_between_two_mails(desk, post):
    handler, server = post
    queue(desk, 3)
    told = []

    def stop_after_one(done, of):
        told.append((done, of))
        return done < 1

    assert len(desk.post.mailroom().send(server, PASSWORD, stop_after_one)) == 1
    assert (told, len(handler.taken)) == ([(0, 3), (1, 3), (1, 3)], 1)


def test_nothing_goes_by_itself_to_whom_a_horse_died_or_for_a_held_case(desk, post):
    handler, server = post
    died, other = queue(desk, 2)
    desk.save(HorseSet(a_horse(id="horse2", name="Juniper")))
    held, well = queue(desk, 2, horse="horse2")
    desk.record(died, Death(DAY0, euthanased=True, consented_by="the owner"))
    desk.record(held, Hold(on_hold=True, on=DAY0))
    room = desk.post.mailroom()
    room.send(server, PASSWORD)
    assert len(handler.taken) == 1
    by_case = {m.case: m.state for m in desk.post.outbox()}
    assert by_case == {
        died: MailState.FAILED,
        other: MailState.FAILED,
        held: MailState.QUEUED,
        well: MailState.SENT,
    }
    for ref in (died, other):  # another case of the horse does not say that it died
        with pytest.raises(RefusedInputError, match="died"):
            desk.post.queue_handout(ref)
        with pytest.raises(RefusedInputError, match="died"):
            desk.post.calendar(ref)
        with pytest.raises(RefusedInputError, match="died"):
            desk.post.queue_paper(ref, "cast", "owner@example.org")
    desk.record(held, Hold(on_hold=False, on=DAY0))
    assert [m.state for m in room.send(server, PASSWORD)] == [MailState.SENT]


def test_dates_leave_an_owners_calendar_only_on_the_vets_key(desk, post):
    handler, server = post
    (ref,) = queue(desk, 1)
    room = desk.post.mailroom()
    room.send(server, PASSWORD)
    desk.record(ref, Death(day(0), euthanased=True, consented_by="the owner"))
    assert room.send(server, PASSWORD) == ()
    desk.post.withdraw(ref)
    assert [m.state for m in room.send(server, PASSWORD)] == [MailState.SENT]
    first, last = (message_from_bytes(d, policy=policy.default) for d in handler.taken)
    gone, came = calendar_of(last), calendar_of(first)
    # RFC 5546 section 3.2.5: METHOD:CANCEL, the same UIDs, a higher SEQUENCE.
    assert gone["METHOD"] == "CANCEL"
    assert {e["UID"] for e in gone.walk("VEVENT")} == {e["UID"] for e in came.walk("VEVENT")}
    assert min(e["SEQUENCE"] for e in gone.walk("VEVENT")) > max(
        e["SEQUENCE"] for e in came.walk("VEVENT")
    )
    with pytest.raises(RefusedInputError, match="no calendar"):
        desk.post.withdraw(ref)


def calendar_of(message):
    from icalendar import Calendar

    parts = [p for p in message.walk() if p.get_content_type() == "text/calendar"]
    found = [Calendar.from_ical(p.get_content()) for p in parts]
    assert [p.get_param("method") for p in parts] == [str(c["METHOD"]) for c in found]
    return found[0]


def test_the_mail_server_is_a_setting_without_a_password_and_checked(desk, tmp_path):
    desk.post.set_server(MailServer("mail.example.org", 587, "vets"))
    assert desk.post.server().port == 587
    assert PASSWORD not in "".join(p.read_text() for p in (tmp_path / "store").rglob("*.json"))
    for wrong in (MailServer("not a host"), MailServer("x.example.org", 0)):
        with pytest.raises(RefusedInputError):
            desk.post.set_server(wrong)


@pytest.mark.parametrize("steps", range(4))
def test_a_crash_or_full_disk_at_any_write_of_queueing_loses_and_doubles_nothing(
    desk, monkeypatch, tmp_path, steps
):
    # message, preparation, the record's entry, the outbox's state: four writes
    ref = desk.open_case(an_opening(), first_visit()).ref
    written = []

    def write(path, data):
        if len(written) == steps:
            raise StoreError(f"could not save {path.name}: No space left on device")
        written.append(path)
        replace_file(path, data)

    with monkeypatch.context() as disk:
        disk.setattr("fieldnotes.storage.outbox.replace_file", write)
        disk.setattr("fieldnotes.storage.durable.replace_file", write)
        with pytest.raises(StoreError, match="No space") if steps < 3 else nullcontext():
            desk.post.queue_handout(ref)
    book = Casebook(tmp_path / "store")
    box = Outbox(tmp_path / "store", writing=book.writing)
    after = Casework(book, Clock(at(0, 12)), mail=box, carrier=desk._carrier)
    told = [h.body.message_id for h in after.case(ref).handouts]
    assert [m.message_id for m in after.post.outbox()] == told  # the record and the outbox agree
    assert len(told) == (steps == 3)
    after.post.queue_handout(ref)
    mails = [m.message_id for m in after.post.outbox()]
    assert sorted(mails) == sorted(h.body.message_id for h in after.case(ref).handouts)
    assert len(set(mails)) == len(told) + 1


def test_a_letter_prepared_for_a_case_that_is_gone_keeps_nobody_from_the_outbox(desk):
    queue(desk, 1)
    desk._mail.prepare(b"Subject: x\r\n\r\n", ("o@example.org",), "zzzzz", "<1@x>", at(0, 12))
    assert states(desk) == [MailState.QUEUED]


def test_while_one_sends_another_is_refused_and_told_who(desk, post, tmp_path):
    handler, server = post
    queue(desk, 1)
    desk._records.hold()
    other = Casebook(tmp_path / "store")
    box = Outbox(tmp_path / "store", writing=other.writing)
    second = Casework(other, Clock(at(0, 12)), mail=box, carrier=desk._carrier)
    with pytest.raises(StoreLockedError, match="open for writing in process"):
        second.post.mailroom().send(server, PASSWORD)
    assert handler.taken == []
    desk._records.close()
