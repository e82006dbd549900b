"""What threatens a store is said after every command and in the app, and only then.

Also what a command leaves behind: one sealed archive a day.
"""

from __future__ import annotations

import datetime as dt
import shutil

import pytest

from fieldnotes.cli.main import main
from fieldnotes.cli.seat import Seat
from fieldnotes.domain.entries import Note
from fieldnotes.domain.errors import StoreLockedError
from fieldnotes.knowledge.upkeep import load_upkeep
from fieldnotes.storage import entry, surroundings
from fieldnotes.storage.backup import contents
from fieldnotes.storage.casebook import Casebook
from tests.storage.conftest import sound  # noqa: F401  (a fixture)

NOW = dt.datetime(2026, 3, 2, 10, 0, tzinfo=dt.UTC)
DAY = dt.timedelta(days=1)


@pytest.fixture
def store(sound, tmp_path):  # noqa: F811
    folder = shutil.copytree(sound, tmp_path / "store")
    surroundings.note_backup(folder, tmp_path / "all.zip", NOW)
    return folder


@pytest.fixture
def said(capsys):
    """Give what a command says beside its answer, and what the app's header would."""

    def call(store, now, *words):
        capsys.readouterr()
        code = main(["--data", str(store), "--now", now.isoformat(), *(words or ("case", "list"))])
        err = capsys.readouterr().err
        seat = Seat(lambda: now, read_only=True)
        seat.take(store)
        shown = seat.warnings()[1:]  # the first says that it is only read
        seat.leave()
        return code, err, shown

    return call


def full(store, patch):
    patch.setattr(surroundings, "free_mb", lambda _folder: 199.0)
    return store, NOW


def roomy(store, patch):
    patch.setattr(surroundings, "free_mb", lambda _folder: 201.0)
    return store, NOW


def synced(store, _patch):
    return store.rename(store.parent / f"{load_upkeep().synced[0]} (work)"), NOW


def behind(store, _patch):
    return store, dt.datetime(1970, 1, 1, tzinfo=dt.UTC)  # a flat battery of the clock


def ahead(store, _patch):
    surroundings.note_backup(store, store, NOW + 31 * DAY)
    return store, NOW + 31 * DAY


def overdue(store, _patch):
    return store, NOW + 7 * DAY


def none_yet(store, _patch):
    (store / "upkeep.json").unlink()
    made = (store / "store.json").stat().st_mtime
    now = dt.datetime.fromtimestamp(made, dt.UTC) + 7 * DAY
    Casebook(store).append("k7m2q", [Note("today")], "vet1", now)
    return store, now


@pytest.mark.parametrize(
    ("threat", "words"),
    [
        (full, "only 199 MB free on this disk"),
        (synced, "which is synced"),
        (behind, "behind the newest entry; set it"),
        (ahead, "is 31 days old; is the date right"),
        (overdue, "the last backup is 7 days old"),
        (none_yet, "no backup has been made yet"),
        (roomy, ""),
    ],
)
def test_a_threat_is_told_by_every_command_and_by_the_app(store, said, monkeypatch, threat, words):
    folder, now = threat(store, monkeypatch)
    _, err, shown = said(folder, now)
    told = [line for line in err.splitlines() if line.startswith("fieldnotes: !")]
    assert len(told) == len(shown) == bool(words)
    assert all(words in line for line in (*told, *shown))


# ----- the sealed archive of the day


def sealed(store):
    return sorted(p.name for p in (store / "archives").glob("sealed-*.zip"))


def test_the_first_command_of_a_day_that_writes_seals_and_no_other(store, said):
    assert said(store, NOW)[0] == 0
    assert sealed(store) == []
    assert said(store, NOW, "note", "k7m2q", "one")[0] == 0
    assert said(store, NOW, "note", "k7m2q", "two")[0] == 0
    assert sealed(store) == ["sealed-000001-20260302.zip"]
    assert said(store, NOW + DAY, "note", "k7m2q", "three")[0] == 0
    assert len(sealed(store)) == 2
    new = [name for name, _ in contents(store / "archives" / sealed(store)[1])]
    assert len([name for name in new if name.startswith("entries/")]) == 2


def test_where_too_much_waits_a_command_leaves_it_to_the_app(store, said, monkeypatch):
    monkeypatch.setattr("fieldnotes.cli.opening.SEALED_AT_ONCE", 3)
    assert said(store, NOW, "note", "k7m2q", "one")[0] == 0
    assert sealed(store) == []


# ----- a newer program's file


def test_a_newer_file_is_named_and_neither_changed_nor_written_after(store, said, monkeypatch):
    monkeypatch.setattr(entry, "SCHEMA", 2)
    monkeypatch.setitem(entry.UPGRADES, 1, lambda document: {**document, "schema": 2})
    Casebook(store).append("k7m2q", [Note("of tomorrow")], "vet1", NOW)
    monkeypatch.undo()
    before = {p: p.read_bytes() for p in store.rglob("*") if p.is_file() and "lock" not in p.name}
    code, err, _ = said(store, NOW, "case", "show", "k7m2q")
    assert code == 0
    assert "written by a newer program (schema 2)" in err
    code, err, _ = said(store, NOW, "note", "k7m2q", "of today")
    assert code == 1
    assert "it can be read here, not changed" in err
    seat = Seat(lambda: NOW)
    desk, drafts = seat.take(store)
    assert desk.case("k7m2q").notes[-1].body.text == "note 5 of k7m2q"  # what is understood of it
    assert seat.read_only
    assert "a newer fieldnotes has written" in seat.warnings()[1]
    with pytest.raises(StoreLockedError):
        desk.note("k7m2q", "of today")
    drafts.list()
    seat.leave()
    assert {p: p.read_bytes() for p in before} == before
