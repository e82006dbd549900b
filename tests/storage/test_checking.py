"""Whatever is done to the files of a store behind its back is found, with its place."""

from __future__ import annotations

import datetime as dt
import json
import random
import shutil

import pytest

from fieldnotes.domain.entries import (
    Amendment,
    Note,
)
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.checking import check_store
from fieldnotes.storage.entry import _hash
from fieldnotes.storage.strict_json import dumps
from tests.builders import (
    an_opening,
)

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
TAMPERINGS = 200


def files(folder):
    return sorted((folder / "entries").rglob("*.json"))


def report(folder):
    """Give the findings as "place: what"."""
    return [f"{f.place}: {f.what}" for f in check_store(Casebook(folder)).findings]


def rewritten(path, **changes):
    """Change an entry as someone would who knows how to make its hash fit again."""
    document = json.loads(path.read_text("utf-8"))
    document.pop("sha256")
    document |= changes
    path.write_bytes(dumps({**document, "sha256": _hash(document)}))


def test_an_untouched_store_is_clean(store):
    verdict = check_store(Casebook(store))
    assert verdict.findings == ()
    assert verdict.entries == len(files(store))


# ----- one tampering of each kind: it gives the text of the place that must be told


def delete(path, chance, folder):
    path.unlink()
    return f"entry {int(path.name[:8])} is missing"


def flip_a_bit(path, chance, folder):
    data = bytearray(path.read_bytes())
    data[chance.randrange(len(data))] ^= 1 << chance.randrange(7)
    path.write_bytes(data)
    return path.name


def truncate(path, chance, folder):
    data = path.read_bytes()
    path.write_bytes(data[: chance.randrange(len(data))])
    return path.name


def empty(path, chance, folder):
    path.write_bytes(b"")
    return path.name


def append_a_letter(path, chance, folder):
    path.write_bytes(path.read_bytes() + b"x")
    return path.name


def swap_two(path, chance, folder):
    other = chance.choice([p for p in files(folder) if p != path])
    mine, theirs = path.read_bytes(), other.read_bytes()
    path.write_bytes(theirs)
    other.write_bytes(mine)
    return path.name


def copy_over(path, chance, folder):
    other = chance.choice([p for p in files(folder) if p != path])
    path.write_bytes(other.read_bytes())
    return path.name


def put_a_foreign_file(path, chance, folder):
    place = chance.choice([path.parent, path.parent.parent, path.parent.parent.parent])
    (place / "letter.txt").write_text("dear vet", "utf-8")
    return "letter.txt: a foreign file"


def copy_under_another_name(path, chance, folder):
    copy = path.with_name(f"{path.stem} (copy).json")
    copy.write_bytes(path.read_bytes())
    return copy.name


def move_to_another_bucket(path, chance, folder):
    other = path.parent.with_name("0007")
    other.mkdir()
    path.rename(other / path.name)
    return f"0007/{path.name}"


def rename_to_another_case(path, chance, folder):
    stolen = path.with_name(f"{path.name[:8]}-zzzzz.json")
    path.rename(stolen)
    return stolen.name


def forge_beside(path, chance, folder):
    """Insert a well-hashed entry of the same number for another case."""
    forged = path.with_name(f"{path.name[:8]}-forged.json")
    shutil.copyfile(path, forged)
    rewritten(forged, stream="forged")
    return f"entry {int(path.name[:8])} stands twice"


def forge_after_the_end(path, chance, folder):
    last = files(folder)[-1]
    number = int(last.name[:8]) + 1
    device = last.parent.parent.name
    forged = last.with_name(f"{number:08d}-{last.name[9:]}")
    shutil.copyfile(last, forged)
    rewritten(forged, sequence=number, id=f"{device}-{number:06d}")
    return f"{forged.name}: does not follow the entry before it"


KINDS = (
    delete,
    flip_a_bit,
    truncate,
    empty,
    append_a_letter,
    swap_two,
    copy_over,
    put_a_foreign_file,
    copy_under_another_name,
    move_to_another_bucket,
    rename_to_another_case,
    forge_beside,
    forge_after_the_end,
)


def test_two_hundred_tamperings_are_each_found_at_their_place(sound, tmp_path):
    chance = random.Random(2026)  # noqa: S311  (which file is hit, no secret)
    for number in range(TAMPERINGS):
        folder = shutil.copytree(sound, tmp_path / str(number))
        kind = KINDS[number % len(KINDS)]
        path = chance.choice(files(folder))
        told = kind(path, chance, folder)
        assert any(told in line for line in report(folder)), (kind.__name__, path.name, told)
        shutil.rmtree(folder)


@pytest.mark.parametrize("number", range(20))
def test_an_entry_rewritten_with_a_fitting_hash_breaks_the_chain_after_it(store, number):
    paths = files(store)
    rewritten(paths[number], author="someone else")
    assert f"{paths[number + 1].name}: does not follow the entry before it" in report(store)[0]


def test_a_chain_cut_at_its_end_is_found(store):
    for path in files(store)[-3:]:
        path.unlink()
    assert any("entry 18 to 20 is missing" in line for line in report(store))


def test_a_device_whose_folder_is_gone_is_found(store):
    (device,) = (p for p in (store / "entries").iterdir() if p.is_dir())
    shutil.rmtree(device)
    assert f"{device.name}: entry 0 to 20 is missing" in report(store)


def test_the_rest_of_a_store_opens_and_can_be_written_after_each_tampering(sound, tmp_path):
    chance = random.Random(7)  # noqa: S311  (which file is hit, no secret)
    for number, kind in enumerate(KINDS * 2):
        folder = shutil.copytree(sound, tmp_path / str(number))
        path = chance.choice([p for p in files(folder) if "p3x9z" in p.name])
        kind(path, chance, folder)
        book = Casebook(folder)
        assert len(book.lines()) >= 2
        (entry,) = book.append("k7m2q", [Note("still writing")], "vet1", NOW)
        fresh = Casebook(folder)
        assert [n.body.text for n in fresh.case("k7m2q").notes][-1] == "still writing"
        assert fresh.documents("k7m2q")[-1]["id"] == entry.id
        shutil.rmtree(folder)


def test_a_damaged_entry_is_left_out_of_the_documents_and_reported(store):
    path = next(p for p in files(store) if "p3x9z" in p.name and int(p.name[:8]) == 16)
    whole = len(Casebook(store).documents("p3x9z"))
    path.write_bytes(path.read_bytes().replace(b"note", b"mote"))
    book = Casebook(store)
    assert len(book.documents("p3x9z")) == whole - 1
    assert path.name in book.problems[0]


def test_references_that_lead_nowhere_are_found(store):
    book = Casebook(store)
    book.append("qqqqq", [an_opening(horse="ghost", premises="mist")], "vet1", NOW)
    book.append("k7m2q", [Amendment("d0-000099", "what", "why")], "vet1", NOW)
    book.append("orphan", [Note("no opening")], "vet1", NOW)
    told = "\n".join(report(store))
    for wanted in ("unknown horse (ghost)", "unknown premises (mist)", "d0-000099", "no opening"):
        assert wanted in told


def test_what_was_set_aside_stays_reported(store):
    path = files(store)[-1]
    path.write_bytes(b"{}")
    book = Casebook(store)
    book.hold()
    book.case("p3x9z")
    book.close()
    assert any("was set aside" in line for line in report(store))
    assert not path.exists()


def test_a_killed_save_is_no_finding(store):
    (files(store)[0].parent / ".writing-0123").write_bytes(b"half")
    assert report(store) == []
