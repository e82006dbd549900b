"""What a save asks of the disk does not grow with the store; work is counted, not timed."""

from __future__ import annotations

import datetime as dt
import os
from collections import Counter

import pytest

from fieldnotes.domain.entries import Note
from fieldnotes.storage import durable
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.entry import Unwritten
from fieldnotes.storage.entry_files import BUCKET, EntryFiles
from tests.builders import an_opening

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
CALLS = ("open", "stat", "listdir", "scandir", "rename", "replace", "fsync", "unlink")


def a_store(folder, notes):
    create_store(folder)
    book = Casebook(folder)
    book.append("k7m2q", [an_opening()], "vet1", NOW)
    book.append("p3x9z", [an_opening()], "vet1", NOW)
    many = [Unwritten("p3x9z", Note(f"note {n}"), "vet1", NOW) for n in range(notes)]
    book.append_all(many)
    return book


@pytest.fixture(scope="module")
def books(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patched:
        for name in ("_sync_file", "sync_folder"):  # only their making is spared the wait
            patched.setattr(durable, name, lambda _: None)
        made = [
            a_store(tmp_path_factory.mktemp("few") / "store", 3),
            a_store(tmp_path_factory.mktemp("many") / "store", 2 * BUCKET + BUCKET // 2),
        ]
    for book in made:
        book.hold()
        book.append("k7m2q", [Note("the first of a sitting")], "vet1", NOW)
        book.state()
    yield made
    for book in made:
        book.close()


def counted(work):
    """Give how often each thing was asked of the system, and how many entries were read."""
    done = Counter()
    with pytest.MonkeyPatch.context() as patched:
        for owner, name in (*((os, call) for call in CALLS), (EntryFiles, "read")):
            real = getattr(owner, name)

            def seen(*args, _real=real, _name=name, **named):
                done[_name] += 1
                return _real(*args, **named)

            patched.setattr(owner, name, seen)
        work()
    return done


def a_save(book):
    return lambda: book.append("k7m2q", [Note("one more")], "vet1", NOW)


def test_a_save_asks_as_much_of_the_disk_in_a_large_store_as_in_a_small_one(books):
    few, many = (counted(a_save(book)) for book in books)
    assert few == many
    assert many["fsync"] == 2  # the file and its folder: durable, and no more than that
    assert many["read"] == many["listdir"] == many["scandir"] == 0
    assert sum(many.values()) <= 20


def test_reading_after_a_save_reads_the_new_entry_and_lists_the_newest_folder(books):
    for book in books:
        book.case("k7m2q")
    few, many = (counted(lambda book=book: (a_save(book)(), book.case("k7m2q"))) for book in books)
    assert few == many
    assert many["read"] == 1
    assert many["listdir"] <= 4  # twice, until nothing new is found: the devices, the folder


def test_what_grows_with_the_store_is_counted(books):
    few, many = (counted(lambda book=book: list(book.files.all())) for book in books)
    assert few["listdir"] < many["listdir"]


def test_a_line_of_the_list_is_made_anew_only_for_the_case_written_to(books):
    book = books[0]
    before = {line.ref: line for line in book.lines()}
    a_save(book)()
    after = {line.ref: line for line in book.lines()}
    assert after["p3x9z"] is before["p3x9z"]
    assert after["k7m2q"] is not before["k7m2q"]
