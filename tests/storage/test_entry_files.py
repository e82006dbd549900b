"""Where entries lie, what their names tell, and what is never taken for an entry."""

from __future__ import annotations

import datetime as dt
import os

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.domain.entries import KINDS, Note
from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.entry import Envelope, NewerSchemaError, decode, encode, read_entry
from fieldnotes.storage.entry_files import BUCKET, EntryFile, EntryFiles, parse_name
from fieldnotes.storage.strict_json import dumps
from tests.builders import (
    a_drug_dispensed,
    a_drug_given,
    a_finding,
    a_horse,
    a_practice,
    a_report,
    a_task,
    a_visit,
    an_opening,
    an_outcome,
)

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
BODIES = (
    an_opening(),
    a_visit(
        0,
        lameness=2,
        findings=(a_finding(infection_signs=("heat",)),),
        given=(a_drug_given(expiry=NOW.date()),),
        dispensed=(a_drug_dispensed(),),
    ),
    a_report(),
    a_task(),
    an_outcome("recheck", "done"),
    Note("[/] \U0001f434 \u05d0"),
    KINDS["practice"](a_practice()),
    KINDS["horse"](a_horse()),
)


def envelope(sequence=0, stream="c1", **changes):
    values = {"device": "d1", "clock": 1, "time": NOW, "author": "vet1", "previous": ""}
    return Envelope(**(values | {"sequence": sequence, "stream": stream} | changes))


def write(entry_files, sequence, stream="c1"):
    return entry_files.write(encode(envelope(sequence, stream), Note("x")))


@pytest.mark.parametrize("body", BODIES, ids=lambda b: type(b).__name__)
def test_an_entry_reads_back_as_it_was_written(body):
    entry = read_entry(dumps(encode(envelope(), body)), "x")
    assert entry.body == body
    assert entry.id == "d1-000000"
    assert entry.time == NOW


@given(st.integers(0, 99_999_999), st.text("abcdefghjkmnpqrstuvwxyz23456789", min_size=1))
def test_a_name_tells_device_sequence_and_case(sequence, stream):
    file = EntryFile("d1", sequence, stream)
    device, bucket, name = file.name.split("/")
    assert device == "d1"
    assert int(bucket) == sequence // BUCKET
    assert parse_name("d1", name) == file


@pytest.mark.parametrize(
    "name",
    [
        "00000001-c1.json.bak",
        "00000001-c1 (copy).json",
        "1-c1.json",
        "00000001-C1.json",
        "\u0661\u0661\u0661\u0661\u0661\u0661\u0661\u0661-c1.json",
        ".writing-00000001",
        "00000001-../x.json",
    ],
)
def test_a_foreign_name_is_no_entry(name):
    assert parse_name("d1", name) is None


def test_entries_are_listed_in_order_across_folders_of_a_thousand(tmp_path):
    entry_files = EntryFiles(tmp_path)
    for sequence in (2001, 3, 999, 1000):
        write(entry_files, sequence)
    assert [f.sequence for f in entry_files.all()] == [3, 999, 1000, 2001]
    assert [f.sequence for f in entry_files.after("d1", 999)] == [1000, 2001]
    assert entry_files.head("d1").sequence == 2001
    assert entry_files.head("d2") is None


def test_a_copied_folder_is_foreign_and_does_not_stop_the_writer(tmp_path):
    """A file manager's copy of a folder once made the search for the newest entry endless."""
    create_store(tmp_path / "store")
    book = Casebook(tmp_path / "store")
    (first,) = book.append("c1", [an_opening()], "vet1", NOW)
    bucket = book.files.folder / first.device / "0000"
    for name in ("0000 (copy)", "9999"):
        copy = bucket.with_name(name)
        copy.mkdir()
        (copy / "00000050-c1.json").write_bytes(b"{}")
    (second,) = book.append("c1", [Note("x")], "vet1", NOW)
    assert second.sequence == 1
    assert len(list(book.files.foreign())) == 2


def test_a_folder_named_like_an_entry_refuses_writing_in_words(tmp_path):
    create_store(tmp_path / "store")
    book = Casebook(tmp_path / "store")
    (first,) = book.append("c1", [an_opening()], "vet1", NOW)
    (book.files.folder / first.device / "0000" / "00000007-c1.json").mkdir()
    with pytest.raises(StoreError, match=r"00000007-c1\.json"):
        book.append("c1", [Note("x")], "vet1", NOW)


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads everything")
def test_a_file_that_may_not_be_read_now_is_reported_and_left_in_place(tmp_path):
    create_store(tmp_path / "store")
    book = Casebook(tmp_path / "store")
    book.append("c1", [an_opening(), Note("x")], "vet1", NOW)
    path = sorted(book.files.folder.rglob("*.json"))[1]
    path.chmod(0)
    _reported_and_left(tmp_path / "store", path)


def test_a_file_the_disk_does_not_give_now_is_reported_and_left_in_place(tmp_path, monkeypatch):
    create_store(tmp_path / "store")
    book = Casebook(tmp_path / "store")
    book.append("c1", [an_opening(), Note("x")], "vet1", NOW)
    path = sorted(book.files.folder.rglob("*.json"))[1]
    real = type(path).read_bytes

    def read_bytes(self):
        if self == path:
            raise OSError(5, "Input/output error")
        return real(self)

    monkeypatch.setattr(type(path), "read_bytes", read_bytes)
    _reported_and_left(tmp_path / "store", path)


def _reported_and_left(folder, path):
    book = Casebook(folder)
    book.hold()
    assert book.case("c1").notes == ()
    book.close()
    assert path.name in book.problems[0]
    assert path.exists()


def test_a_written_entry_is_never_written_again(tmp_path):
    entry_files = EntryFiles(tmp_path)
    write(entry_files, 0)
    with pytest.raises(StoreError, match="there already"):
        write(entry_files, 0)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"schema": 2}, "newer program"),
        ({"schema": "1"}, "no schema"),
        ({"schema": True}, "no schema"),
        ({"author": "other"}, "does not fit its hash"),
        ({"sha256": "0" * 64}, "does not fit its hash"),
        ({"extra": 1}, "does not fit its hash"),
    ],
)
def test_a_changed_document_is_refused_in_words(change, told):
    document = encode(envelope(), Note("x")) | change
    with pytest.raises(StoreError, match=told):
        decode(document, "0.json")


@pytest.mark.parametrize("value", [[], None, "x", 3])
def test_what_is_no_entry_is_refused(value):
    with pytest.raises(StoreError, match="not an entry"):
        decode(value, "0.json")


def test_a_kind_of_a_newer_program_is_told_from_damage():
    from fieldnotes.storage.entry import _hash

    document = encode(envelope(), Note("x")) | {"kind": "hologram"}
    document.pop("sha256")
    document["sha256"] = _hash(document)
    with pytest.raises(NewerSchemaError, match="hologram"):
        decode(document, "0.json")
