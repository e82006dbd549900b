"""No file brings the import down, and none is taken in by half."""

from __future__ import annotations

import copy
import datetime as dt
import json
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldnotes.cli.importing import read_files, unwritten_of
from fieldnotes.cli.main import main
from fieldnotes.domain.errors import FieldnotesError
from fieldnotes.domain.register import Register
from fieldnotes.storage.import_checks import check_imports
from tests.storage.test_importing import CASE, REGISTER, places

NOW = dt.datetime(2026, 4, 1, 12, tzinfo=dt.UTC)
QUICK, LONG = 1500, 100_000
VALUES = (
    None, True, 0, -1, 2**53, 2**80, 1e308, -0.0, "", " ", "@-99999", "@99999T00:00", "NaN",
    "0001-01-01T00:00:00+14:00", "9999-12-31T23:59", "\ud800", "\0", "k7m2q", "../../etc", [], {},
    [[[]]], {"kind": "visit"}, "Europe/Nowhere", "\u202e12", "x" * 70_000, "purged", "#1",
)  # fmt: skip
BYTES = (b"{", b"}", b'"', b",", b"NaN", b"1e999", b"[" * 70, b"\xff", b"\xef\xbb\xbf", b"\\ud800")


def at(tree, path):
    for step in path:
        tree = tree[step]
    return tree


def changed(document, chance):
    """Give the document with one to three places replaced, dropped, doubled or exchanged."""
    tree = copy.deepcopy(document)
    for _ in range(chance.randint(1, 3)):
        *above, last = chance.choice(places(tree) or [("format",)])
        parent, act = at(tree, above), chance.randrange(4)
        if act == 0 or not isinstance(parent, list | dict):
            parent[last] = copy.deepcopy(chance.choice(VALUES))
        elif act == 1:
            del parent[last]
        elif act == 2 and isinstance(parent, list):
            parent.insert(last, copy.deepcopy(parent[last]))
        else:
            parent[last] = copy.deepcopy(at(tree, chance.choice(places(tree))))
    return json.dumps(tree, ensure_ascii=False).encode("utf-8", "surrogatepass")


def broken(data, chance):
    """Give the bytes cut off, with some put in, or with bits turned."""
    spot, act = chance.randrange(len(data)), chance.randrange(3)
    if act == 0:
        return data[:spot]
    if act == 1:
        return data[:spot] + chance.choice(BYTES) + data[spot:]
    return data[:spot] + bytes([data[spot] ^ 1 << chance.randrange(8)]) + data[spot + 1 :]


def hostile(seed):
    """Give a register and a case, one of them, both or none spoilt, by a number."""
    chance = random.Random(seed)  # noqa: S311  (what is spoilt, no secret)
    files = {}
    for name, document in (("register.json", REGISTER), ("k7m2q.json", CASE)):
        data = changed(document, chance) if chance.random() < 0.7 else json.dumps(document).encode()
        files[name] = broken(data, chance) if chance.random() < 0.3 else data
    return files


def whole_or_refused(seed):
    files = hostile(seed)
    try:
        found = read_files(files, NOW, None)
        check_imports(Register(), found)
    except FieldnotesError as refusal:
        assert str(refusal)  # noqa: PT017  (both ends are right; nothing else may come out)
        return False
    assert len(unwritten_of(found)) == sum(len(f.entries) for f in found)
    return True


SEEDS = st.integers(0, 2**40)


@settings(max_examples=QUICK, deadline=None)
@given(SEEDS)
def test_whatever_stands_in_the_files_they_are_read_whole_or_refused(seed):
    whole_or_refused(seed)


@pytest.mark.long
@settings(max_examples=LONG, deadline=None)
@given(SEEDS)
def test_a_hundred_thousand_spoilt_files_are_read_whole_or_refused(seed):
    whole_or_refused(seed)


def test_the_spoilt_files_are_neither_all_refused_nor_all_taken():
    """The control of the tests above: a fuzz that only ever meets one end shows nothing."""
    assert {whole_or_refused(seed) for seed in range(200)} == {True, False}


def test_the_command_takes_all_of_the_files_or_none(tmp_path, capsys):
    ends = []
    for seed in range(60):
        store, files = tmp_path / str(seed), hostile(seed)
        for name, data in files.items():
            (tmp_path / name).write_bytes(data)
        names = [str(tmp_path / name) for name in files]
        code = main(["--data", str(store), "--now", NOW.isoformat(), "import", *names])
        wanted = 0 if code else sum(len(json.loads(d)["entries"]) for d in files.values())
        assert len(list((store / "entries").rglob("*.json"))) == wanted, seed
        ends.append(code)
    assert set(ends) == {0, 1}
