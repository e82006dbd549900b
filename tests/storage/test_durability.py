"""What was said to be saved is there after any stop: a kill, a full disk, a second writer."""

from __future__ import annotations

import contextlib
import datetime as dt
import errno
import os
import random
import resource
import signal
import time

import pytest

from fieldnotes.domain.entries import Note
from fieldnotes.domain.errors import StoreError, StoreLockedError
from fieldnotes.domain.mail import MailState
from fieldnotes.storage import durable
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.checking import check_store
from fieldnotes.storage.outbox import Outbox
from tests.builders import an_opening, at

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
ROUNDS = 60

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="kills need a forked process")


def write_notes(say, folder, name, count=10_000):
    """Append notes to a case of its own; say each one's name once it is acknowledged."""
    book = Casebook(folder)
    book.append(name, [an_opening()], "vet1", NOW)
    for number in range(count):
        book.append(name, [Note(f"{name} {number} " + "x" * 3000)], "vet1", NOW)
        say(f"{name} {number}")


def write_carelessly(say, path, name):
    """Write as a careless program would: over the old bytes, and say "saved" too early."""
    saved = []
    for number in range(10_000):
        saved.append(f"{name} {number}")
        say(saved[-1])
        with path.open("w") as file:
            for line in saved:
                file.write(f"{line} {'x' * 3000}\n")
                file.flush()


def write_on_a_full_disk(say, folder, room_bytes):
    """Append three notes where no file may grow beyond some bytes."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    book = Casebook(folder)
    resource.setrlimit(resource.RLIMIT_FSIZE, (room_bytes, resource.RLIM_INFINITY))
    for number in range(3):
        try:
            book.append("c1", [Note("y" * 5000 + str(number))], "vet1", NOW)
        except StoreError as error:
            say(f"refused: {error}")
        else:
            say("saved")


class Writer:
    """A process of its own; `said` is what it said before it ended."""

    def __init__(self, work, *words):
        reading, writing = os.pipe()
        self.pid = os.fork()
        if self.pid == 0:
            os.close(reading)
            code = 1
            try:
                work(lambda text: os.write(writing, f"{text}\n".encode()), *words)
                code = 0
            finally:
                os._exit(code)
        os.close(writing)
        self._pipe = os.fdopen(reading)

    def said(self):
        """Wait for its end; gives its lines and its exit code (minus the signal that ended it)."""
        with self._pipe:
            lines = self._pipe.read().splitlines()
        _, status = os.waitpid(self.pid, 0)
        return lines, os.waitstatus_to_exitcode(status)

    def killed_after(self, moment_s):
        """Let it acknowledge once, kill it a moment later, and give what it acknowledged."""
        first = self._pipe.readline().strip()
        time.sleep(moment_s)
        os.kill(self.pid, signal.SIGKILL)
        lines, code = self.said()
        assert code == -signal.SIGKILL
        return [first, *lines]


@pytest.fixture
def book(tmp_path):
    create_store(tmp_path / "store")
    book = Casebook(tmp_path / "store")
    book.append("c1", [an_opening()], "vet1", NOW)
    return book


def texts(folder):
    return [n.body.text for n in Casebook(folder).case("c1").notes]


def stems(folder):
    """Give "writer number" of each writer's notes, with their whole length checked."""
    book = Casebook(folder)
    cases = [book.case(line.ref) for line in book.lines() if line.ref != "c1"]
    found = [note.body.text for case in cases for note in case.notes]
    assert all(len(text.split()[-1]) == 3000 for text in found)
    assert book.problems == []
    return [" ".join(text.split()[:2]) for text in found]


# ----- kill -9


def test_every_acknowledged_entry_outlives_kill_9_at_any_moment(book):
    chance, said = random.Random(2026), []  # noqa: S311  (moments of a kill, no secret)
    for number in range(ROUNDS):
        writer = Writer(write_notes, book.folder, f"w{number}")
        said += writer.killed_after(chance.uniform(0.0, 0.03))
    found = stems(book.folder)
    assert len(said) >= ROUNDS
    assert set(said) <= set(found)
    assert len(found) == len(set(found)) <= len(said) + ROUNDS
    again = Casebook(book.folder)
    again.append("c1", [Note("after")], "vet1", NOW)
    assert not list(book.folder.rglob(f"{durable.TEMP_PREFIX}*"))
    assert [f for f in check_store(again).findings if "unknown" not in f.what] == []


def test_the_harness_sees_a_careless_writer_lose_what_it_acknowledged(tmp_path):
    """The negative control: without it the test above could not fail."""
    chance = random.Random(7)  # noqa: S311  (moments of a kill, no secret)
    for number in range(ROUNDS):
        path = tmp_path / f"notes{number}"
        said = Writer(write_carelessly, path, "w").killed_after(chance.uniform(0.0, 0.03))
        kept = {" ".join(x.split()[:2]) for x in path.read_text("utf-8").splitlines()}
        if not set(said) <= kept:
            return
    pytest.fail("a writer in place lost nothing: the harness is blind")


# ----- each step, and each step failing in turn


def test_an_entry_is_on_the_medium_before_it_is_named_and_named_before_it_is_said(
    book, monkeypatch
):
    """POSIX.1-2017, fsync and rename: a name is safe once the folder that holds it is synced."""
    taken = []
    for step in ("write", "fsync", "replace"):
        real = getattr(os, step)

        def recorded(*args, _step=step, _real=real, **kwargs):
            taken.append(_step)
            return _real(*args, **kwargs)

        monkeypatch.setattr(os, step, recorded)
    durable.replace_file(book.folder / "entries" / "x", b"x")
    assert taken == ["write", "fsync", "replace", "fsync"]


STEPS = ("open", "write", "fsync", "replace")
ERRORS = (errno.ENOSPC, errno.EIO, errno.EACCES)


@contextlib.contextmanager
def failing(step, number, code):
    """Let the number-th call of one step of the system fail, once."""
    module_step = getattr(os, step)
    calls = 0

    def fails(*args, **kwargs):
        nonlocal calls
        calls += 1
        if calls == number:
            raise OSError(code, os.strerror(code))
        return module_step(*args, **kwargs)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, step, fails)
        yield lambda: calls


def acknowledged(book, text):
    """Append a note; gives whether it was said to be saved."""
    try:
        book.append("c1", [Note(text)], "vet1", NOW)
    except StoreError:
        return False
    return True


@pytest.mark.parametrize("code", ERRORS, ids=lambda c: errno.errorcode[c])
@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("number", range(1, 8))
def test_a_step_that_fails_leaves_old_or_new_and_the_next_save_works(book, step, number, code):
    book.append("c1", [Note("before")], "vet1", NOW)
    with failing(step, number, code):
        saved = acknowledged(book, "during")
    fresh = texts(book.folder)
    assert fresh in (["before"], ["before", "during"])
    assert not saved or "during" in fresh
    book.append("c1", [Note("after")], "vet1", NOW)
    assert texts(book.folder) == [*fresh, "after"]
    assert [n.body.text for n in book.case("c1").notes] == [*fresh, "after"]
    assert not list(book.folder.rglob(f"{durable.TEMP_PREFIX}*"))
    assert not [f for f in check_store(Casebook(book.folder)).findings if "unknown" not in f.what]


@pytest.mark.parametrize("step", STEPS)
def test_each_step_is_really_taken_and_its_failure_refuses_the_save(book, step):
    """The control of the test above: were a step not called, its failure would prove nothing."""
    with failing(step, -1, errno.EIO) as calls:
        book.append("c1", [Note("counted")], "vet1", NOW)
    assert calls() >= 1
    outcomes = set()
    for number in range(1, calls() + 1):
        with failing(step, number, errno.EIO):
            outcomes.add(acknowledged(book, f"n{number}"))
    assert False in outcomes


@pytest.mark.parametrize("code", ERRORS, ids=lambda c: errno.errorcode[c])
@pytest.mark.parametrize("step", STEPS)
def test_a_mails_state_stays_old_or_becomes_new(tmp_path, step, code):
    box = Outbox(tmp_path)
    mail = box.queue(b"Subject: x\r\n\r\ny\r\n", ("o@example.org",), "c1", "<1@x>", at(0))
    saved = False
    with failing(step, 1, code), contextlib.suppress(StoreError):
        box.mark(mail.id, MailState.SENDING, at(1))
        saved = True
    state = Outbox(tmp_path).get(mail.id).state
    assert state in {MailState.QUEUED, MailState.SENDING}
    assert not saved or state is MailState.SENDING


def test_an_index_that_cannot_be_written_neither_fails_a_save_nor_hides_an_entry(book, monkeypatch):
    def full(*_args, **_kwargs):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        patch.setattr(book._index_files, "_append", full)
        book.append("c1", [Note("one")], "vet1", NOW)
    book.append("c1", [Note("two")], "vet1", NOW)
    assert texts(book.folder) == ["one", "two"]


def test_a_journal_with_a_gap_is_not_trusted(book):
    other = Casebook(book.folder)
    other.append("c1", [Note("one")], "vet1", NOW)
    other.append("c1", [Note("two")], "vet1", NOW)
    journal = book.folder / "index" / "index.journal"
    lines = journal.read_bytes().splitlines(keepends=True)
    journal.write_bytes(b"".join(lines[1:]))
    assert texts(book.folder) == ["one", "two"]
    journal.write_bytes(lines[0][:20])
    assert texts(book.folder) == ["one", "two"]


# ----- two writers


def test_two_processes_append_and_no_acknowledged_entry_is_lost(book):
    writers = [Writer(write_notes, book.folder, f"p{n}", 25) for n in range(2)]
    ends = [writer.said() for writer in writers]
    assert [code for _, code in ends] == [0, 0]
    wanted = {line for lines, _ in ends for line in lines}
    found = stems(book.folder)
    assert len(wanted) == 50
    assert set(found) == wanted
    assert len(found) == 50
    sequences = [f.sequence for f in Casebook(book.folder).files.all()]
    assert sequences == list(range(53))


def test_a_writer_is_refused_while_another_keeps_the_store(book):
    book.hold()
    other = Casebook(book.folder)
    with pytest.raises(StoreLockedError, match="open for writing"):
        other.append("c1", [Note("x")], "vet1", NOW)
    book.close()
    other.append("c1", [Note("x")], "vet1", NOW)
    assert texts(book.folder) == ["x"]


# ----- a full disk


@pytest.mark.parametrize("room_bytes", [0, 100, 4000, 5200])
def test_a_disk_that_fills_up_refuses_in_words_and_keeps_what_was(book, room_bytes):
    book.append("c1", [Note("before")], "vet1", NOW)
    lines, code = Writer(write_on_a_full_disk, book.folder, room_bytes).said()
    assert code == 0
    assert len(lines) == 3
    assert all(line.startswith("refused: could not save") for line in lines)
    assert texts(book.folder) == ["before"]
    book.append("c1", [Note("after")], "vet1", NOW)
    assert texts(book.folder) == ["before", "after"]
    assert not list(book.folder.rglob(f"{durable.TEMP_PREFIX}*"))


def test_a_disk_with_room_for_the_entry_but_not_for_the_index_still_saves(book):
    lines, code = Writer(write_on_a_full_disk, book.folder, 5500).said()
    assert (lines, code) == (["saved"] * 3, 0)
    assert len(texts(book.folder)) == 3
