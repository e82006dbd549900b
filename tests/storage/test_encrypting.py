"""A locked store: no word in plain, every change found and mended, a kill anywhere made good."""

from __future__ import annotations

import os
import random
import shutil

import pytest

from fieldnotes.domain.entries import Note
from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.storage import vault
from fieldnotes.storage.archives import Archives
from fieldnotes.storage.backup import back_up, restore
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.checking import check_store
from fieldnotes.storage.cipher import _HELD, MAGIC, OtherKeyError, PassphraseNeededError
from fieldnotes.storage.drafts import Drafts
from fieldnotes.storage.encrypting import turn_off, turn_on
from fieldnotes.storage.mending import mend
from fieldnotes.storage.outbox import Outbox
from fieldnotes.storage.quarantine import aside
from fieldnotes.storage.recovery_key import new_recovery_key
from tests.builders import a_horse, a_practice, an_owner, at
from tests.storage.conftest import NOW

WORDS = "plum saddle quiet rain"
SECRETS = tuple(
    word.encode() for word in (an_owner().name, a_practice().name, a_horse().name, "note 3 of")
)


@pytest.fixture(autouse=True)
def cheap(monkeypatch):
    monkeypatch.setattr(vault, "STANDARD", vault.Cost(32, 1, 4))


@pytest.fixture
def full(store):
    """A store with one of everything that is kept."""
    book = Casebook(store)
    book.pictures.put("k7m2q", b"picture of " + SECRETS[0])
    letter = b"Subject: x\r\n\r\n" + SECRETS[0]
    Outbox(store).queue(letter, ("o@example.org",), "k7m2q", "<1@x>", at(0))
    Drafts(store / "drafts").save("note-1", "note", "k7m2q", "Note", "2026", {"t": an_owner().name})
    (store / "entries" / "foreign.txt").write_bytes(SECRETS[0])
    Archives(store, book.files).seal(NOW)
    return store


@pytest.fixture
def locked(full):
    turn_on(Casebook(full), WORDS, new_recovery_key())
    return full


def forget():
    _HELD.clear()


def found(folder):
    """Give every file of a store in which one of the secret words stands."""
    files = [p for p in folder.rglob("*") if p.is_file()]
    return [p for p in files if any(word in p.read_bytes() for word in SECRETS)]


def holds_everything(folder):
    book = Casebook(folder)
    assert len(book.case("k7m2q").notes) == 6
    assert book.register().owners[an_owner().id] == an_owner()
    [name] = [p.name for p in (folder / "attachments" / "k7m2q").iterdir()]
    assert book.pictures.get("k7m2q", name) == b"picture of " + SECRETS[0]
    [mail] = Outbox(folder).list()
    assert Outbox(folder).message(mail.id).endswith(SECRETS[0])
    assert Drafts(folder / "drafts").list()[0].answers["t"] == an_owner().name
    assert not book.problems


def findings(folder):
    """Give what a check finds, but for the foreign file that was set aside at the beginning."""
    found = check_store(Casebook(folder)).findings
    return [f for f in found if not f.place.endswith("foreign.txt")]


def test_a_locked_store_holds_everything_and_shows_no_word_of_it(full):
    assert found(full)  # the control: they are there to be found
    turn_on(Casebook(full), WORDS, new_recovery_key())
    book = Casebook(full)
    book.append("k7m2q", [Note("note 3 of later"), Note("x")], "vet1", NOW)
    book.append("k7m2q", [Note("y")], "vet1", NOW)
    Drafts(full / "drafts").save("n-2", "n", "", "N", "2026", {"t": an_owner().name})
    Archives(full, book.files).seal(NOW)
    assert not found(full)
    forget()
    with pytest.raises(PassphraseNeededError):
        Casebook(full)
    with pytest.raises(RefusedInputError):
        vault.open_vault(full, "plum saddle quiet rein")
    vault.open_vault(full, WORDS)
    assert [n.body.text for n in Casebook(full).case("k7m2q").notes][-3:] == [
        "note 3 of later", "x", "y",
    ]  # fmt: skip
    assert not findings(full)


def test_turned_off_again_it_is_the_same_store_in_plain(locked):
    holds_everything(locked)
    turn_off(Casebook(locked))
    forget()
    holds_everything(locked)
    assert not [p for p in locked.rglob("*") if p.is_file() and MAGIC in p.read_bytes()]
    assert not (locked / "keys.json").exists()
    mend(Casebook(locked))
    assert not (locked / "keys.json").exists()


def test_any_flipped_bit_is_found_named_and_mended(locked):
    chance = random.Random(7)  # noqa: S311  (which byte is hit, no secret)
    files = sorted((locked / "entries").rglob("*.json"))
    book = Casebook(locked, read_only=True)
    path = files[5]
    whole = path.read_bytes()
    for at_byte in range(len(whole)):
        data = bytearray(whole)
        data[at_byte] ^= 1 << chance.randrange(8)
        with pytest.raises(StoreError):
            book.cipher.decrypt(path, bytes(data))
    before = {p: p.read_bytes() for p in files}
    hit = chance.sample(files, 6)
    for number, path in enumerate(hit):
        data = bytearray(path.read_bytes())
        data[(0, 25, 32, 50, 90, len(data) - 1)[number]] ^= 4
        path.write_bytes(data)
    named = {f.place for f in findings(locked)}
    assert {p.relative_to(locked / "entries").as_posix() for p in hit} <= named
    mend(Casebook(locked))
    assert {p: p.read_bytes() for p in files} == before
    assert not findings(locked)


def test_an_altered_picture_comes_back_from_its_sealed_copy(locked):
    [path] = (locked / "attachments" / "k7m2q").iterdir()
    whole = path.read_bytes()
    path.write_bytes(whole[:-1])
    assert any("altered; put back" in done.what for done in mend(Casebook(locked)))
    assert path.read_bytes() == whole
    holds_everything(locked)
    assert not findings(locked)


def test_two_swapped_files_are_both_found_even_where_their_content_is_sound(locked):
    book = Casebook(locked, read_only=True)
    one, two = sorted((locked / "entries").rglob("*.json"))[5:7]
    first, second = one.read_bytes(), two.read_bytes()
    one.write_bytes(second)
    two.write_bytes(first)
    with pytest.raises(StoreError, match="another file's content"):
        book.cipher.read(one)
    places = {f.place for f in findings(locked)}
    assert {p.relative_to(locked / "entries").as_posix() for p in (one, two)} <= places
    mend(Casebook(locked))
    assert (one.read_bytes(), two.read_bytes()) == (first, second)


def test_a_file_put_in_in_plain_is_refused(full):
    path = sorted((full / "entries").rglob("*.json"))[5]
    plain = path.read_bytes()
    turn_on(Casebook(full), WORDS, new_recovery_key())
    path.write_bytes(plain)
    assert any("not encrypted" in f.what for f in findings(full))
    mend(Casebook(full))
    assert path.read_bytes().startswith(MAGIC)
    assert not found(full)  # what was set aside is encrypted as well
    assert [p.name for p, _ in aside(full) if path.name in p.name] == []  # settled


def test_a_store_whose_keys_are_gone_is_left_as_it_is(locked, tmp_path):
    keys = {name: (locked / name).read_bytes() for name in ("keys.json", "keys.copy.json")}
    before = {p: p.read_bytes() for p in (locked / "entries").rglob("*.json")}
    for name in keys:
        (locked / name).unlink()
    forget()
    book = Casebook(locked)
    with pytest.raises(StoreError), book.writing():
        book.append("k7m2q", [Note("x")], "vet1", NOW)
    mend(Casebook(locked))
    assert {p: p.read_bytes() for p in before} == before
    with pytest.raises(OtherKeyError):
        book.cipher.read(next(iter(before)))
    for name, data in keys.items():
        (locked / name).write_bytes(data)
    forget()
    vault.open_vault(locked, WORDS)
    holds_everything(locked)


def test_a_backup_of_a_locked_store_restores_with_its_passphrase(locked, tmp_path):
    back_up(locked, tmp_path / "b.zip", NOW)
    assert not any(word in (tmp_path / "b.zip").read_bytes() for word in SECRETS)
    restore(tmp_path / "b.zip", tmp_path / "again")
    with pytest.raises(PassphraseNeededError):
        Casebook(tmp_path / "again")
    vault.open_vault(tmp_path / "again", WORDS)
    assert len(Casebook(tmp_path / "again").case("k7m2q").notes) == 6


def test_one_who_opened_the_store_before_it_was_locked_writes_nothing_in_plain(full, tmp_path):
    book = Casebook(full)
    other = shutil.copytree(full, tmp_path / "other")  # stands in for another program
    turn_on(Casebook(other), WORDS, new_recovery_key())
    shutil.copytree(other, full, dirs_exist_ok=True)
    before = sorted((full / "entries").rglob("*.json"))
    with pytest.raises(StoreError, match="by another program; open it again"):
        book.append("k7m2q", [Note("x")], "vet1", NOW)
    assert sorted((full / "entries").rglob("*.json")) == before


def test_no_two_files_are_encrypted_with_the_same_nonce(locked):
    cipher, path = Casebook(locked).cipher, locked / "drafts" / "x.json"
    start = len(MAGIC) + 8
    nonces = {cipher.encrypt(path, b"x")[start : start + 12] for _ in range(20_000)}
    assert len(nonces) == 20_000


class Killed(BaseException):
    """The power is gone."""


def killed_at(monkeypatch, step, work):
    """Run a work and stop it dead at one of its renames or deletions; gives how many there were."""
    done = 0

    def stopping(real):
        def call(*args, **kwargs):
            nonlocal done
            done += 1
            if done == step:
                raise Killed
            return real(*args, **kwargs)

        return call

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", lambda _: None)  # quick; nothing is cut here
        patch.setattr("pathlib.Path.replace", stopping(type(work.folder).replace))
        patch.setattr("pathlib.Path.unlink", stopping(type(work.folder).unlink))
        try:
            work()
        except Killed:
            return step
    return done


class Turn:
    def __init__(self, folder, *, on):
        self.folder, self.on = folder, on

    def __call__(self):
        book = Casebook(self.folder)
        if self.on:
            turn_on(book, WORDS, new_recovery_key())
        else:
            turn_off(book)


@pytest.mark.parametrize("on", [True, False])
def test_a_kill_at_any_step_leaves_every_file_readable_and_is_made_good(
    on, full, monkeypatch, tmp_path
):
    if not on:
        turn_on(Casebook(full), WORDS, new_recovery_key())
    copy = shutil.copytree(full, tmp_path / "copy")
    if not on:
        vault.open_vault(copy, WORDS)
    steps = killed_at(monkeypatch, 10_000, Turn(copy, on=on))
    assert steps > 30
    for step in range(1, steps + 1, 3):
        again = shutil.copytree(full, tmp_path / f"copy{step}")
        if not on:
            vault.open_vault(again, WORDS)
        killed_at(monkeypatch, step, Turn(again, on=on))
        forget()
        if (again / "keys.json").exists():
            vault.open_vault(again, WORDS)
        with monkeypatch.context() as patch:
            patch.setattr(os, "fsync", lambda _: None)
            assert len(Casebook(again, read_only=True).case("k7m2q").notes) == 6
            with Casebook(again).writing():  # the next writer ends what was begun
                pass
            holds_everything(again)
            assert not findings(again)
        if (again / "keys.json").exists() == on:
            assert bool(found(again)) is not on
