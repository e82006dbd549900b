"""The store keeps what it acknowledged, changes nothing, and opens around what is broken."""

from __future__ import annotations

import datetime as dt
import json
import os
from typing import TYPE_CHECKING

import pytest
from tinydb import where

from fieldnotes.domain.entries import Amendment, CaseOpened, HorseSet, Note, Visit, VisitKind
from fieldnotes.domain.errors import NoStoreError, StoreError, StoreLockedError, UnknownNameError
from fieldnotes.domain.patients import Horse, Species
from fieldnotes.domain.wounds import Wound
from fieldnotes.storage import durable
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.entry_table import TABLE, entry_table

if TYPE_CHECKING:
    from pathlib import Path

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
OPENED = CaseOpened(
    horse="hazel", premises="mill", injured_at=NOW, wounds=(Wound("A", "left.hind.fetlock.dorsal"),)
)


@pytest.fixture
def book(tmp_path: Path) -> Casebook:
    create_store(tmp_path / "store")
    return Casebook(tmp_path / "store")


def entry_paths(book: Casebook) -> list[Path]:
    return sorted((book.folder / "entries").rglob("*.json"))


def test_what_was_appended_is_read_back_by_another_casebook(book: Casebook) -> None:
    book.append("k7m2q", [OPENED, Visit(VisitKind.FIRST, NOW)], "vet", NOW)
    case = Casebook(book.folder).case("k7")
    assert case.opened == OPENED
    assert [e.kind for e in case.entries] == ["opened", "visit"]
    assert case.entries[1].previous == case.entries[0].sha256


def test_entries_are_private_and_never_overwritten(book: Casebook) -> None:
    book.append("k7m2q", [OPENED], "vet", NOW)
    (path,) = entry_paths(book)
    assert path.stat().st_mode & 0o777 == 0o600
    with pytest.raises(StoreError, match="there already"):
        durable.write_once(path, b"{}")


def test_an_index_that_is_lost_is_rebuilt_to_the_same(book: Casebook) -> None:
    book.append("register", [HorseSet(Horse("hazel", "Hazel", Species.HORSE, "mill"))], "vet", NOW)
    book.append("k7m2q", [OPENED, Note("quiet")], "vet", NOW)
    before = (book.lines(), book.register())
    for path in (book.folder / "index").iterdir():
        path.unlink()
    again = Casebook(book.folder)
    assert (again.lines(), again.register()) == before


def test_an_altered_entry_is_reported_and_set_aside_and_the_rest_opens(book: Casebook) -> None:
    book.append("k7m2q", [OPENED, Note("first"), Note("second")], "vet", NOW)
    path = entry_paths(book)[1]
    path.write_bytes(path.read_bytes().replace(b"first", b"fires"))
    again = Casebook(book.folder)
    assert [n.body.text for n in again.case("k7m2q").notes] == ["second"]
    assert "does not fit its hash" in again.problems[0]
    again.hold()
    again.case("k7m2q")
    again.close()
    kept = [p for p in (book.folder / "quarantine").iterdir() if p.suffix == ".json"]
    assert b"fires" in kept[0].read_bytes()


def test_a_sequence_is_not_used_again_after_its_file_went_to_quarantine(book: Casebook) -> None:
    book.append("k7m2q", [OPENED, Note("last")], "vet", NOW)
    entry_paths(book)[1].write_bytes(b"")
    (entry,) = book.append("k7m2q", [Note("next")], "vet", NOW)
    assert entry.sequence == 2


def test_an_entry_of_a_newer_program_stays_where_it_is(book: Casebook) -> None:
    book.append("k7m2q", [OPENED, Note("x")], "vet", NOW)
    path = entry_paths(book)[1]
    path.write_text(json.dumps({**json.loads(path.read_text("utf-8")), "schema": 99}), "utf-8")
    again = Casebook(book.folder)
    again.hold()
    assert again.case("k7m2q").notes == ()
    again.close()
    assert path.is_file()
    assert "newer program" in again.problems[0]


def test_a_table_over_entries_refuses_change_and_removal(book: Casebook) -> None:
    book.append("k7m2q", [OPENED, Note("x")], "vet", NOW)
    table = entry_table(book.files, list(book.files.all())).table(TABLE)
    with pytest.raises(StoreError, match="never changed"):
        table.update({"author": "someone"}, where("kind") == "note")
    with pytest.raises(StoreError, match="never changed"):
        table.remove(where("kind") == "note")


def test_a_second_writer_is_refused_and_told_who_holds_the_store(book: Casebook) -> None:
    book.hold()
    other = Casebook(book.folder)
    with pytest.raises(StoreLockedError, match=str(os.getpid())):
        other.append("k7m2q", [OPENED], "vet", NOW)
    assert other.lines() == ()
    book.close()


def test_a_reference_is_found_by_any_unique_beginning(book: Casebook) -> None:
    book.append("k7m2q", [OPENED], "vet", NOW)
    book.append("k9aaa", [OPENED], "vet", NOW)
    assert book.resolve("K7") == "k7m2q"
    with pytest.raises(UnknownNameError, match="k7m2q, k9aaa"):
        book.resolve("k")
    with pytest.raises(UnknownNameError, match="no case"):
        book.resolve("zz")


def test_an_amendment_stands_beside_the_visit_it_corrects(book: Casebook) -> None:
    first = Visit(VisitKind.FIRST, NOW, lameness=1)
    (_, visit) = book.append("k7m2q", [OPENED, first], "vet", NOW)
    corrected = Visit(VisitKind.FIRST, NOW, lameness=3)
    book.append("k7m2q", [Amendment(visit.id, "lameness 3", "misread", corrected)], "vet", NOW)
    case = book.case("k7m2q")
    assert case.visits[0].body.lameness == 3
    assert case.entries[1].body == first


def test_a_failed_write_acknowledges_nothing_and_the_next_one_works(
    book: Casebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    book.append("k7m2q", [OPENED], "vet", NOW)
    real = os.fsync

    def full(_descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreError, match="No space left"):
        book.append("k7m2q", [Note("lost")], "vet", NOW)
    monkeypatch.setattr(os, "fsync", real)
    book.append("k7m2q", [Note("kept")], "vet", NOW)
    case = Casebook(book.folder).case("k7m2q")
    assert [n.body.text for n in case.notes] == ["kept"]
    assert not list(book.folder.rglob(".writing-*"))


def test_a_folder_without_a_store_says_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(NoStoreError, match="demo"):
        Casebook(tmp_path)


def test_a_store_is_not_made_in_a_folder_that_holds_something(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("x", "utf-8")
    with pytest.raises(StoreError, match="not empty"):
        create_store(tmp_path)


def test_an_index_made_anew_tells_how_far_it_is_and_a_save_does_not(sound, monkeypatch):
    monkeypatch.setattr("fieldnotes.storage.casebook.REBUILT", 3)
    told = []
    book = Casebook(sound, read_only=True)
    book.progress = lambda done, of: told.append((done, of))
    book.rebuild()
    assert told == [(1, 3), (2, 3), (3, 3)]  # the register and two cases
    book.lines()
    assert len(told) == 3
