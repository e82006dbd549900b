"""The long set of the store's figures, run by `.ci/long`: the quick tests with the whole counts."""

from __future__ import annotations

import os
import random
import shutil

import pytest

from tests.storage import test_durability as durability
from tests.storage.test_checking import KINDS, files, report
from tests.storage.test_durability import Writer, stems, write_notes

pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="kills need a forked process"),
]
KILLS = int(os.environ.get("FIELDNOTES_KILLS", "2000"))
TAMPERED = int(os.environ.get("FIELDNOTES_TAMPERINGS", "10000"))


@pytest.fixture
def book(tmp_path):
    durability.create_store(tmp_path / "store")
    book = durability.Casebook(tmp_path / "store")
    book.append("c1", [durability.an_opening()], "vet1", durability.NOW)
    return book


def test_two_thousand_kills_lose_nothing_acknowledged(book):
    chance, said = random.Random(1), []  # noqa: S311  (moments of a kill, no secret)
    for number in range(KILLS):
        writer = Writer(write_notes, book.folder, f"w{number}")
        said += writer.killed_after(chance.uniform(0.0, 0.03))
    assert set(said) <= set(stems(book.folder))


def test_two_writers_of_a_thousand_entries_lose_none(book):
    writers = [Writer(write_notes, book.folder, f"p{n}", 1000) for n in range(2)]
    ends = [writer.said() for writer in writers]
    wanted = [line for lines, _ in ends for line in lines]
    assert sorted(stems(book.folder)) == sorted(wanted)
    assert len(wanted) == 2000


def test_a_hundred_full_disks_damage_nothing(book):
    for number in range(100):
        lines, code = Writer(durability.write_on_a_full_disk, book.folder, 50 * number).said()
        assert code == 0
        assert len(lines) == 3
    kept = durability.texts(book.folder)
    book.append("c1", [durability.Note("after")], "vet1", durability.NOW)
    assert durability.texts(book.folder) == [*kept, "after"]


def test_ten_thousand_tamperings_are_each_found_at_their_place(sound, tmp_path):
    chance = random.Random(3)  # noqa: S311  (which file is hit, no secret)
    for number in range(TAMPERED):
        folder = shutil.copytree(sound, tmp_path / "hit")
        told = KINDS[number % len(KINDS)](chance.choice(files(folder)), chance, folder)
        assert any(told in line for line in report(folder)), (number, told)
        shutil.rmtree(folder)
