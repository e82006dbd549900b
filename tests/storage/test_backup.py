"""An archive holds the whole store, reads back as written, and refuses in words when it is not."""

from __future__ import annotations

import datetime as dt
import json
import random
import zipfile

import pytest

from fieldnotes.domain.entries import Note
from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.backup import MANIFEST, back_up, contents, restore
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.outbox import Outbox
from tests.builders import an_opening, at

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)


@pytest.fixture
def book(tmp_path):
    create_store(tmp_path / "store")
    book = Casebook(tmp_path / "store")
    book.append("c1", [an_opening(), Note("quiet")], "vet1", NOW)
    Outbox(book.folder).queue(b"Subject: x\r\n\r\ny\r\n", ("o@example.org",), "c1", "<1@x>", at(0))
    return book


@pytest.fixture
def archive(book, tmp_path):
    path = tmp_path / "out" / "backup.zip"
    back_up(book.folder, path, NOW)
    return path


def test_a_restored_store_holds_the_same_entries_mails_and_id(book, archive, tmp_path):
    count = restore(archive, tmp_path / "again")
    again = Casebook(tmp_path / "again")
    assert again.case("c1") == book.case("c1")
    assert again.id == book.id
    assert Outbox(again.folder).list() == Outbox(book.folder).list()
    assert count == len(dict(contents(archive)))


def test_a_restored_store_goes_on_as_a_device_of_its_own(book, archive, tmp_path):
    restore(archive, tmp_path / "again")
    (mine,) = book.append("c1", [Note("here")], "vet1", NOW)
    (theirs,) = Casebook(tmp_path / "again").append("c1", [Note("there")], "vet1", NOW)
    assert mine.device != theirs.device


def test_an_archive_opens_with_any_zip_program_and_lists_its_hashes(archive):
    with zipfile.ZipFile(archive) as zipped:
        assert zipped.testzip() is None
        manifest = json.loads(zipped.read(MANIFEST))
        assert set(manifest["sha256"]) == set(zipped.namelist()) - {MANIFEST}
    assert archive.stat().st_mode & 0o077 == 0


def test_an_archive_is_not_written_over_another(book, archive):
    before = archive.read_bytes()
    with pytest.raises(StoreError, match="there already"):
        back_up(book.folder, archive, NOW)
    assert archive.read_bytes() == before


def test_a_store_is_not_restored_over_another(book, archive):
    with pytest.raises(StoreError, match="not empty"):
        restore(archive, book.folder)


def test_a_changed_archive_never_becomes_another_store(book, archive, tmp_path):
    """What a flipped bit spares (a time, an attribute of the zip) must restore to the same."""
    chance = random.Random(5)  # noqa: S311  (which byte is hit, no secret)
    whole, refused = archive.read_bytes(), 0
    good = dict(contents(archive))
    for _ in range(300):
        data = bytearray(whole)
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        archive.write_bytes(data)
        try:
            assert dict(contents(archive)) == good
        except StoreError:
            refused += 1
    assert refused > 200


@pytest.mark.parametrize("part", [0.0, 0.1, 0.5, 0.9, 0.999])
def test_half_an_archive_is_refused_and_nothing_is_restored(archive, tmp_path, part):
    data = archive.read_bytes()
    archive.write_bytes(data[: int(len(data) * part)])
    with pytest.raises(StoreError, match=r"backup\.zip"):
        restore(archive, tmp_path / "again")
    assert not (tmp_path / "again").exists()


def packed(path, contents, manifest):
    with zipfile.ZipFile(path, "w") as zipped:
        zipped.writestr(MANIFEST, json.dumps(manifest))
        for name, data in contents.items():
            zipped.writestr(name, data)
    return path


@pytest.mark.parametrize("name", ["../evil", "/etc/evil", "a/../../evil", "c:\\evil", "..\\evil"])
def test_a_name_that_leads_outside_is_refused(tmp_path, name):
    digest = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"  # of b"test"
    path = packed(tmp_path / "x.zip", {name: b"test"}, {"sha256": {name: digest}})
    with pytest.raises(StoreError, match="leads outside"):
        restore(path, tmp_path / "again")
    assert not (tmp_path / "again").exists()
    assert not (tmp_path / "evil").exists()


@pytest.mark.parametrize(
    "manifest", [[], {}, {"sha256": []}, {"sha256": ["a"]}, {"sha256": 3}, "x"]
)
def test_a_manifest_of_another_shape_is_refused_in_words(tmp_path, manifest):
    path = packed(tmp_path / "x.zip", {"a": b"x"}, manifest)
    with pytest.raises(StoreError):
        dict(contents(path))


def test_an_archive_that_is_not_there_is_named(tmp_path):
    with pytest.raises(StoreError, match=r"gone\.zip"):
        restore(tmp_path / "gone.zip", tmp_path / "again")


def test_a_store_whose_own_card_is_damaged_is_refused_in_words(book):
    (book.folder / "store.json").write_bytes(b"")
    with pytest.raises(StoreError, match=r"store\.json"):
        _ = Casebook(book.folder).id
    (book.folder / "device.json").write_bytes(b'{"device"')
    with pytest.raises(StoreError, match=r"device\.json"):
        book.append("c1", [Note("x")], "vet1", NOW)
