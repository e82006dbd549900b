"""What a casebook remembers between two saves is given up where the files say otherwise."""

from __future__ import annotations

import datetime as dt
import os

import pytest

from fieldnotes.domain.entries import Note
from fieldnotes.domain.errors import StoreError
from fieldnotes.storage import durable
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.checking import check_store
from fieldnotes.storage.entry_files import EntryFiles
from tests.builders import an_opening

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
CASE = "k7m2q"


@pytest.fixture
def book(store):
    book = Casebook(store)
    book.hold()
    book.append(CASE, [Note("the first of this sitting")], "vet1", NOW)
    yield book
    book.close()


def say(book, text, case=CASE):
    [entry] = book.append(case, [Note(text)], "vet1", NOW)
    return entry


def faults(book):
    # a device whose register row is not there is none of this test's
    return [f for f in check_store(book).findings if "unknown" not in f.what]


def path_of(book, entry):
    return next(book.files.folder.rglob(f"{entry.sequence:08d}-*"))


def test_a_second_save_reads_no_entry_and_lists_no_folder(book, monkeypatch):
    def refused(*_args):
        raise AssertionError

    with monkeypatch.context() as patched:
        patched.setattr(EntryFiles, "read", refused)
        patched.setattr(os, "listdir", refused)
        patched.setattr(os, "scandir", refused)
        entry = say(book, "quick")
        with pytest.raises(AssertionError):  # what is refused is what reading takes
            book.case(CASE)
    assert book.case(CASE).entries[-1] == entry


def test_a_case_is_read_from_its_files_once(book, monkeypatch):
    book.case(CASE)
    seen = []
    real = EntryFiles.read
    monkeypatch.setattr(EntryFiles, "read", lambda self, f: seen.append(f) or real(self, f))
    entry = say(book, "one more")
    assert book.case(CASE).entries[-1] == entry
    assert [file.sequence for file in seen] == [entry.sequence]


def test_entries_follow_each_other_through_many_saves_and_batches(book):
    for number in range(5):
        one = say(book, f"one {number}")
        two, three = book.append(CASE, [Note("two"), Note("three")], "vet1", NOW)
        assert (two.previous, three.previous) == (one.sha256, two.sha256)
        assert [e.sequence - one.sequence for e in (two, three)] == [1, 2]
        assert [e.clock - one.clock for e in (two, three)] == [1, 2]
    assert faults(book) == []


def test_another_casebook_sees_each_save_at_once(book):
    other = Casebook(book.folder, read_only=True)
    for number in range(3):
        say(book, f"note {number}")
        assert other.case(CASE).notes[-1].body.text == f"note {number}"


@pytest.mark.parametrize("step", ["_sync_file", "_move", "sync_folder"])
def test_after_a_save_that_failed_at_any_step_no_number_is_used_twice(book, monkeypatch, step):
    def broken(*_args):
        raise OSError(5, "Input/output error")

    with monkeypatch.context() as patched:
        patched.setattr(durable, step, broken)
        with pytest.raises(StoreError, match="could not save"):
            say(book, "lost", "p3x9z")
    say(book, "next")
    say(book, "and next")
    numbers = [file.sequence for file in book.files.all()]
    assert len(numbers) == len(set(numbers))
    assert faults(book) == []


def test_an_entry_damaged_after_it_was_read_is_seen_and_set_aside(book):
    entry = say(book, "as it was written")
    assert book.case(CASE).notes[-1].body.text == "as it was written"
    path = path_of(book, entry)
    path.write_bytes(path.read_bytes().replace(b"as it was", b"as it is!"))
    assert all(n.body.text != "as it is!" for n in book.case(CASE).notes)
    assert "does not fit its hash" in book.problems[0]
    after = say(book, "later")
    assert after.sequence == entry.sequence + 1


def test_what_another_program_put_into_the_folder_is_not_written_over(book):
    entry = say(book, "ours")
    path = path_of(book, entry)
    foreign = path.with_name(f"{entry.sequence + 1:08d}-p3x9z.json")
    foreign.write_bytes(b"{}")
    after = say(book, "after it")
    assert after.sequence == entry.sequence + 2
    assert after.previous == entry.sha256


def test_a_lock_file_removed_by_hand_makes_the_next_save_read_the_chain_anew(book):
    (book.folder / "lock").unlink()
    other = Casebook(book.folder)
    theirs = say(other, "from elsewhere", "p3x9z")
    ours = say(book, "from here")
    assert (ours.sequence, ours.previous) == (theirs.sequence + 1, theirs.sha256)


def test_a_killed_sitting_leaves_its_saves_to_the_next_index(book):
    entry = say(book, "before the kill")
    again = Casebook(book.folder)  # as another process finds it: nothing was closed
    assert again.case(CASE).entries[-1] == entry


def test_a_new_case_is_listed_as_soon_as_it_is_saved(book):
    book.append("n3w22", [an_opening()], "vet1", NOW)
    assert "n3w22" in {line.ref for line in book.lines()}
