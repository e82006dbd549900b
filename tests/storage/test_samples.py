"""Stores as earlier schemas wrote them are read for ever, and upgrades go step by step.

`samples/write_sample.py` made them; a sample is added when SCHEMA is raised, never changed.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import msgspec
import pytest

from fieldnotes.domain.entries import KINDS, Note
from fieldnotes.domain.retention import Purged
from fieldnotes.storage import entry
from fieldnotes.storage.backup import contents
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.checking import check_store
from fieldnotes.storage.strict_json import dumps
from tests.storage.test_checking import NOW, files, rewritten

SAMPLES = sorted(Path(__file__).with_name("samples").glob("schema-*"))


def holds(read, written):
    """Whether what was read has every value that was written, at its place."""
    if isinstance(written, dict):
        return all(holds(read.get(key), value) for key, value in written.items())
    if isinstance(written, list) and written and isinstance(written[0], dict):
        return all(holds(mine, theirs) for mine, theirs in zip(read, written, strict=True))
    return read == written


@pytest.fixture
def sample(tmp_path):
    return shutil.copytree(SAMPLES[-1], tmp_path / "store")


def test_there_is_a_sample_of_every_schema_and_the_newest_has_every_kind():
    assert [s.name for s in SAMPLES] == [f"schema-{n}" for n in range(1, entry.SCHEMA + 1)]
    kinds = {json.loads(p.read_bytes())["kind"] for p in files(SAMPLES[-1])}
    wanted = {kind for kind, body in KINDS.items() if body is not Purged}
    assert kinds <= wanted  # a kind added later needs no new schema
    assert len(kinds) >= 38  # as many as schema 1 had when its sample was made


@pytest.mark.parametrize("folder", SAMPLES, ids=lambda s: s.name)
def test_a_sample_is_read_whole_as_it_was_written(folder):
    book = Casebook(folder, read_only=True)
    for file in book.files.all():
        document = entry.upgraded(json.loads(book.files.plain(file)))
        found = book.files.read(file)
        assert holds(json.loads(msgspec.json.encode(found.body)), document["body"]), file.name
    assert book.case("k7m2q").visits
    assert book.register().horses
    faults = {"altered", "missing", "hash", "chain"}
    told = [f.what for f in check_store(book).findings]
    assert not [what for what in told if faults & set(what.split())]


def to_two(document):
    body = dict(document["body"])
    if document["kind"] == "note":
        body["words"] = body.pop("text")
    return {**document, "schema": 2, "body": body}


def to_three(document):
    body = dict(document["body"])
    if document["kind"] == "note":
        body["text"] = f"upgraded: {body.pop('words')}"
    return {**document, "schema": 3, "body": body}


def test_each_step_of_an_upgrade_is_taken_on_reading_and_no_file_is_rewritten(sample, monkeypatch):
    before = {p: p.read_bytes() for p in files(sample)}
    [old] = [n.body.text for n in Casebook(sample, read_only=True).case("k7m2q").notes]
    monkeypatch.setattr(entry, "SCHEMA", 3)
    monkeypatch.setitem(entry.UPGRADES, 1, to_two)
    monkeypatch.setitem(entry.UPGRADES, 2, to_three)
    book = Casebook(sample)
    assert [n.body.text for n in book.case("k7m2q").notes] == [f"upgraded: {old}"]
    book.append("k7m2q", [Note("new")], "vet1", NOW)
    assert [n.body.text for n in book.case("k7m2q").notes] == [f"upgraded: {old}", "new"]
    assert {p: p.read_bytes() for p in before} == before
    [archive] = (sample / "archives").glob("before-schema-2-*.zip")
    kept = {name: data for name, data in contents(archive) if name.startswith("entries/")}
    assert sorted(kept.values()) == sorted(before.values())


def test_what_is_not_known_of_an_entry_survives_every_write_after_it(sample):
    last = files(sample)[-1]
    document = json.loads(last.read_bytes())
    rewritten(last, body={**document["body"], "of_tomorrow": {"a": [1]}}, colour="blue")
    before = last.read_bytes()
    book = Casebook(sample)
    book.append("k7m2q", [Note("after")], "vet1", NOW)
    book.rebuild()
    assert last.read_bytes() == before
    assert b"of_tomorrow" in dumps(book.documents("k7m2q")[-2])
    assert not [f for f in check_store(book).findings if last.name in f.place]
