"""The store's passphrase on the command line: never an argument, asked for or read from a pipe."""

from __future__ import annotations

import json
import os
import shutil
import sys

import pytest

from fieldnotes.cli import passphrase
from fieldnotes.cli.main import main
from fieldnotes.storage import age, vault
from fieldnotes.storage.cipher import _HELD
from tests.storage.conftest import sound  # noqa: F401  (a fixture)

WORDS, OTHER = "plum saddle quiet rain", "hay lantern brook sky"


@pytest.fixture(autouse=True)
def cheap(monkeypatch):
    monkeypatch.setattr(vault, "STANDARD", vault.Cost(32, 1, 4))
    writer = age.AgeWriter.__init__
    monkeypatch.setattr(age.AgeWriter, "__init__", lambda s, f, p: writer(s, f, p, 4))


@pytest.fixture
def store(sound, tmp_path):  # noqa: F811
    return shutil.copytree(sound, tmp_path / "store")


@pytest.fixture
def run(capsys, monkeypatch):
    """Run a command in a process that has forgotten every key, with passphrases in pipes."""

    def call(store, *words, old="", new=""):
        _HELD.clear()
        for variable, text in ((passphrase.FD, old), (passphrase.NEW_FD, new)):
            monkeypatch.delenv(variable, raising=False)
            if text:
                reading, writing = os.pipe()
                os.write(writing, f"{text}\n".encode())
                os.close(writing)
                monkeypatch.setenv(variable, str(reading))
        code = main(["--data", str(store), *words])
        out, err = capsys.readouterr()
        return code, out, err

    return call


def test_a_locked_store_is_opened_changed_and_unlocked_by_passphrase(run, store):
    code, out, _ = run(store, "lock", "on", "--json", new=WORDS)
    assert code == 0
    recovery = json.loads(out)["recovery_key"]
    code, out, err = run(store, "case", "list")
    assert (code, out) == (1, "")
    assert err.count(passphrase.FD) == 1
    assert run(store, "case", "list", old=OTHER)[0] == 1
    code, out, _ = run(store, "case", "list", old=WORDS)
    assert code == 0
    assert "k7m2q" in out
    code, _, err = run(store, "lock", "passphrase", old=recovery, new=OTHER)
    assert (code, err.count("new passphrase")) == (0, 1)
    assert run(store, "check", old=WORDS)[0] == 1
    assert run(store, "check", old=OTHER)[0] == 0
    code, out, _ = run(store, "lock", "recovery", "--json", old=OTHER)
    fresh = json.loads(out)["recovery_key"]
    assert run(store, "check", old=recovery)[0] == 1
    assert run(store, "check", old=fresh)[0] == 0
    assert json.loads(run(store, "lock", "show", "--json")[1])["locked"] is True
    assert run(store, "lock", "off", old=OTHER)[0] == 0
    assert run(store, "check")[0] == 0


def test_a_backup_under_a_passphrase_is_restored_with_it_alone(run, store, tmp_path):
    run(store, "lock", "on", new=WORDS)
    archive = str(tmp_path / "out.zip.age")
    assert run(store, "backup", "--passphrase", archive, old=WORDS, new=OTHER)[0] == 0
    again = tmp_path / "again"
    assert run(again, "restore", archive, old=WORDS)[0] == 1
    assert run(again, "restore", archive)[0] == 1
    assert not again.exists()
    assert run(again, "restore", archive, old=OTHER)[0] == 0
    assert "k7m2q" in run(again, "case", "list")[1]


def test_a_terminal_asks_twice_for_a_new_passphrase_and_thrice_for_a_wrong_one(
    run, store, monkeypatch
):
    asked = []
    answers = iter(())

    def ask(prompt):
        asked.append(prompt)
        return next(answers)

    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("getpass.getpass", ask)
    answers = iter((WORDS, OTHER))
    code, _, err = run(store, "lock", "on")
    assert (code, "not the same" in err) == (1, True)
    answers = iter((WORDS, WORDS))
    monkeypatch.setattr("builtins.input", lambda _: "ZZZZZ")
    assert run(store, "lock", "on")[0] == 1
    assert not (store / "keys.json").exists()
    monkeypatch.setattr("sys.stdin.isatty", lambda: False, raising=False)
    run(store, "lock", "on", new=WORDS)
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    asked.clear()
    answers = iter((OTHER, OTHER, WORDS))
    assert run(store, "case", "list")[0] == 0
    assert len(asked) == 3


def test_the_keyring_opens_the_store_only_when_that_was_chosen(run, store, monkeypatch):
    safe = {}
    monkeypatch.setattr(passphrase, "kept", lambda s, a: safe.get((s, a)))
    monkeypatch.setattr(passphrase, "keep", lambda s, a, w: safe.update({(s, a): w}) or True)
    monkeypatch.setattr(passphrase, "drop", lambda s, a: safe.pop((s, a)))
    run(store, "lock", "on", new=WORDS)
    assert run(store, "case", "list")[0] == 1
    assert run(store, "lock", "remember", old=WORDS)[0] == 0
    assert WORDS not in str(safe)
    assert run(store, "case", "list")[0] == 0
    assert run(store, "lock", "forget")[0] == 0
    assert not safe
    assert run(store, "case", "list")[0] == 1


def test_without_the_library_nothing_is_begun(run, store, monkeypatch, tmp_path):
    before = sorted(store.rglob("*"))
    with monkeypatch.context() as patch:
        for name in [n for n in sys.modules if n.partition(".")[0] == "cryptography"]:
            patch.setitem(sys.modules, name, None)
        patch.setitem(sys.modules, "cryptography", None)
        for words in (("lock", "on"), ("backup", "--passphrase", str(tmp_path / "x.age"))):
            code, out, err = run(store, *words, new=WORDS)
            assert (code, out, "fieldnotes[seal]" in err) == (1, "", True)
    assert sorted(store.rglob("*")) == before
    assert not (tmp_path / "x.age").exists()


@pytest.mark.parametrize("words", [("on",), ("passphrase",)])
def test_a_short_new_passphrase_changes_nothing(run, store, words):
    if words != ("on",):
        run(store, "lock", "on", new=WORDS)
    before = {p: p.read_bytes() for p in store.glob("keys*.json")}
    code, _, err = run(store, "lock", *words, old=WORDS, new="pony")
    assert (code, "at least 10 characters" in err) == (1, True)
    assert {p: p.read_bytes() for p in store.glob("keys*.json")} == before
