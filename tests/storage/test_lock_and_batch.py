"""One writer at a time, and several entries of which all are there or none."""

from __future__ import annotations

import contextlib
import datetime as dt
import errno
import json
import os
import signal
import time

import pytest

from fieldnotes.domain.entries import Note
from fieldnotes.domain.errors import StoreError, StoreLockedError
from fieldnotes.storage import batch as batches
from fieldnotes.storage import entry as entries
from fieldnotes.storage.backup import contents
from fieldnotes.storage.batch import JOURNAL
from fieldnotes.storage.casebook import Casebook, create_store
from tests.builders import an_opening
from tests.storage.test_durability import Writer, failing

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)


@pytest.fixture
def book(tmp_path):
    create_store(tmp_path / "store")
    book = Casebook(tmp_path / "store")
    book.append("c1", [an_opening()], "vet1", NOW)
    return book


def texts(folder):
    return [n.body.text for n in Casebook(folder).case("c1").notes]


def keep_the_store(say, folder):
    """Hold a store as an open app does, until killed."""
    book = Casebook(folder)
    book.hold()
    say("held")
    time.sleep(30)


# ----- one writer


def test_the_refused_one_learns_process_computer_user_and_since_when(book):
    book.hold()
    with pytest.raises(StoreLockedError) as refusal:
        Casebook(book.folder).hold(wait_s=0)
    told = str(refusal.value)
    assert f"process {os.getpid()} on {os.uname().nodename}" in told
    assert "user " in told
    assert "since " in told


def test_a_killed_holder_blocks_nobody(book):
    keeper = Writer(keep_the_store, book.folder)
    assert keeper._pipe.readline() == "held\n"
    with pytest.raises(StoreLockedError, match=f"process {keeper.pid} "):
        Casebook(book.folder).hold(wait_s=0)
    os.kill(keeper.pid, signal.SIGKILL)
    keeper.said()
    began = time.monotonic()
    Casebook(book.folder).append("c1", [Note("mine")], "vet1", NOW)
    assert time.monotonic() - began < 1
    assert texts(book.folder) == ["mine"]


def test_a_lock_file_removed_by_hand_still_lets_only_one_write(book):
    book.hold()
    (book.folder / "lock").unlink()
    other = Casebook(book.folder)
    other.hold()
    with pytest.raises(StoreLockedError, match="process"):
        book.append("c1", [Note("from the first")], "vet1", NOW)
    other.append("c1", [Note("from the second")], "vet1", NOW)
    other.close()
    book.append("c1", [Note("from the first")], "vet1", NOW)
    assert texts(book.folder) == ["from the second", "from the first"]


def test_a_store_opened_to_read_only_reads_on_while_another_writes_and_writes_nothing(book):
    book.hold()
    reader = Casebook(book.folder, read_only=True)
    before = sorted(p for p in book.folder.rglob("*"))
    assert reader.case("c1").ref == "c1"
    with pytest.raises(StoreLockedError, match=f"read only.*process {os.getpid()}"):
        reader.append("c1", [Note("x")], "vet1", NOW)
    assert sorted(p for p in book.folder.rglob("*")) == before
    book.append("c1", [Note("new")], "vet1", NOW)
    assert [n.body.text for n in reader.case("c1").notes] == ["new"]


# ----- all or none

THREE = [Note("one"), Note("two"), Note("three")]


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO], ids=lambda c: errno.errorcode[c])
@pytest.mark.parametrize("step", ["open", "write", "fsync", "replace"])
@pytest.mark.parametrize("number", [1, 2, 3, 4, 6, 8])
def test_several_entries_are_all_saved_or_none_whatever_step_fails(book, step, number, code):
    saved = False
    with failing(step, number, code), contextlib.suppress(StoreError):
        book.append("c1", THREE, "vet1", NOW)
        saved = True
    whole = ["one", "two", "three"]
    found = texts(book.folder)
    assert found == (whole if saved else [])
    book.append("c1", [Note("after")], "vet1", NOW)
    assert texts(book.folder) == [*found, "after"]
    assert not (book.folder / JOURNAL).exists()


def test_without_the_journal_half_of_them_would_stay(book, monkeypatch):
    """The control of the test above and of the next."""
    monkeypatch.setattr(batches.Batch, "_take_back", lambda self, written: None)
    monkeypatch.setattr(batches.Batch, "finish", lambda self: 0)
    with failing("replace", 3, errno.EIO), contextlib.suppress(StoreError):
        book.append("c1", THREE, "vet1", NOW)
    assert texts(book.folder) == ["one"]


def die_while_writing(say, folder, number):
    """Be killed at the number-th rename of a batch of three."""
    real, calls = os.replace, []

    def replace(*args, **kwargs):
        calls.append(args)
        if len(calls) == number:
            os.kill(os.getpid(), signal.SIGKILL)
        return real(*args, **kwargs)

    book = Casebook(folder)
    os.replace = replace
    book.append("c1", THREE, "vet1", NOW)
    say("saved")


@pytest.mark.parametrize("number", [1, 2, 3, 4, 5])
def test_a_batch_killed_at_any_rename_is_whole_or_absent_for_the_next_writer(book, number):
    said, _ = Writer(die_while_writing, book.folder, number).said()
    again = Casebook(book.folder)
    again.append("c1", [Note("after")], "vet1", NOW)
    whole = ["one", "two", "three"]
    wanted = [[*whole, "after"]] if number > 1 else [["after"]]
    assert texts(book.folder) in wanted
    assert said == (["saved"] if number > 4 else [])
    assert again.problems == []


# ----- another schema


def test_the_old_state_is_backed_up_before_the_first_write_in_a_newer_schema(book, monkeypatch):
    old = [p.read_bytes() for p in book.files.folder.rglob("*.json")]
    monkeypatch.setattr(entries, "SCHEMA", 2)
    monkeypatch.setitem(entries.UPGRADES, 1, lambda document: {**document, "schema": 2})
    newer = Casebook(book.folder)
    newer.append("c1", [Note("in schema 2")], "vet1", NOW)
    [archive] = (book.folder / "archives").glob("before-schema-2-*.zip")
    kept = dict(contents(archive))
    assert [d for name, d in kept.items() if name.startswith("entries/")] == old
    assert json.loads(kept["store.json"])["schema"] == 1
    assert json.loads((book.folder / "store.json").read_bytes())["schema"] == 2
    newer.append("c1", [Note("and again")], "vet1", NOW)
    assert len(list((book.folder / "archives").iterdir())) == 1
    assert [p.read_bytes() for p in sorted(book.files.folder.rglob("*.json"))][: len(old)] == old


def test_a_store_a_newer_program_wrote_to_is_read_and_never_written(book, monkeypatch):
    monkeypatch.setattr(entries, "SCHEMA", 2)
    monkeypatch.setitem(entries.UPGRADES, 1, lambda document: {**document, "schema": 2})
    Casebook(book.folder).append("c1", [Note("newer")], "vet1", NOW)
    monkeypatch.setattr(entries, "SCHEMA", 1)
    before = {p: p.read_bytes() for p in book.files.folder.rglob("*.json")}
    old = Casebook(book.folder)
    assert old.case("c1").notes == ()
    assert "written by a newer program" in old.problems[0]
    with pytest.raises(StoreError, match="newer fieldnotes"):
        old.append("c1", [Note("x")], "vet1", NOW)
    assert {p: p.read_bytes() for p in book.files.folder.rglob("*.json")} == before
