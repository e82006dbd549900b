"""A case to a colleague and back: signed, whole or not at all, nothing twice."""

from __future__ import annotations

import hashlib
import io
import shutil
import sys
import zipfile
from dataclasses import replace

import pytest

from fieldnotes.cli.plans import bring_in, plan_import
from fieldnotes.domain.entries import HorseSet, Note, PracticeSet
from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.domain.patients import Weight, WeightMethod
from fieldnotes.domain.pictures import Photograph, PictureFormat
from fieldnotes.storage import vault
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.checking import check_store
from fieldnotes.storage.cipher import MAGIC
from fieldnotes.storage.encrypting import turn_on
from fieldnotes.storage.entry import Envelope, encode
from fieldnotes.storage.handover_file import header_bytes, packed, unpacked
from fieldnotes.storage.recovery_key import new_recovery_key
from fieldnotes.storage.signing import signature
from fieldnotes.storage.templates import export_shipped
from tests.builders import DAY0, a_horse, a_person, a_practice
from tests.storage.conftest import NOW

REF = "k7m2q"
PICTURE = b"a picture"


@pytest.fixture
def first(store):
    book = Casebook(store)
    sha256 = book.pictures.put(REF, PICTURE)
    photo = Photograph(sha256, PictureFormat.JPEG, 1, 1, sha256)
    book.append(REF, [photo], "vet1", NOW)
    return book


@pytest.fixture
def colleague(tmp_path):
    from fieldnotes.domain.entries import PersonSet

    create_store(tmp_path / "other")
    book = Casebook(tmp_path / "other")
    people = [PracticeSet(a_practice(name="Other")), PersonSet(a_person(id="vet9", name="Nine"))]
    book.append("register", people, "vet9", NOW)
    return book


def taken_in(book, data, **changes):
    arrival = book.handovers.read(data, "case.zip", **changes)
    return book.handovers.take_in(arrival, "vet9", NOW)


def ids(book):
    return [e.id for e in book.case(REF).entries]


def test_a_case_goes_to_a_colleague_and_comes_back_with_what_was_written_there(first, colleague):
    sent = first.handovers.give(REF, "vet1", NOW)
    assert taken_in(colleague, sent) == len(ids(first)) + 4  # person, owner, place, horse
    assert ids(colleague) == ids(first)
    assert colleague.pictures.get(REF, hashlib.sha256(PICTURE).hexdigest()) == PICTURE
    assert taken_in(colleague, sent) == 0  # twice is once

    colleague.append(REF, [Note("seen on Sunday, dry")], "vet9", NOW)
    heavier = Weight(512.0, WeightMethod.TAPE, DAY0)
    colleague.append(
        "register", [HorseSet(a_horse(weights=(heavier,), allergies=("penicillin",)))], "vet9", NOW
    )
    back = colleague.handovers.give(REF, "vet9", NOW)
    before = ids(first)
    assert taken_in(first, back) == 3  # the note, who wrote it, the horse's new facts
    assert ids(first)[:-1] == before
    assert first.case(REF).notes[-1].body.text == "seen on Sunday, dry"
    horse = first.register().horses[a_horse().id]
    assert heavier in horse.weights
    assert horse.allergies == ("penicillin",)
    assert taken_in(first, back) == 0
    for book in (first, colleague):  # the rest of the other's chain is missed by nobody
        assert check_store(Casebook(book.folder)).findings == ()


def test_an_earlier_case_of_the_same_computer_can_follow_a_later_one(first, colleague):
    taken_in(colleague, first.handovers.give("p3x9z", "vet1", NOW))
    taken_in(colleague, first.handovers.give(REF, "vet1", NOW))
    again = Casebook(colleague.folder)
    assert {line.ref for line in again.lines()} == {REF, "p3x9z"}
    assert check_store(again).findings == ()


def test_a_sent_entry_that_goes_missing_is_found(first, colleague):
    taken_in(colleague, first.handovers.give(REF, "vet1", NOW))
    victim = next(f for f in colleague.files.all() if f.stream == REF and f.sequence == 8)
    colleague.files.path(victim).unlink()
    found = check_store(Casebook(colleague.folder)).findings
    assert any("entry 8 is missing" in f.what for f in found)


def altered(data, name, change):
    parts = zipfile.ZipFile(io.BytesIO(data))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as zipped:
        for info in parts.infolist():
            content = parts.read(info)
            content = change(content) if info.filename == name else content
            if content is not None:
                zipped.writestr(info.filename, content)
    return out.getvalue()


def test_whatever_part_is_altered_is_named_and_nothing_is_written(first, colleague):
    sent = first.handovers.give(REF, "vet1", NOW)
    before = sorted(p for p in colleague.folder.rglob("*") if p.is_file())
    names = zipfile.ZipFile(io.BytesIO(sent)).namelist()
    assert len(names) == len(ids(first)) + 3
    for name in names:
        shown = name[:18]
        for change in (lambda c: c.replace(c[-4:-3], b"~"), lambda _: None):
            with pytest.raises((RefusedInputError, StoreError)) as told:
                taken_in(colleague, altered(sent, name, change))
            text = str(told.value)
            assert shown in text or "header" in text, (name, text)
    added = io.BytesIO(sent)
    with zipfile.ZipFile(added, "a") as zipped:
        zipped.writestr("entries/d0-000001.json", b"{}")
    with pytest.raises(RefusedInputError, match=r"entries/d0-000001\.json: was added"):
        taken_in(colleague, added.getvalue())
    with pytest.raises(RefusedInputError, match="no whole handover"):
        taken_in(colleague, sent[: len(sent) // 2])
    assert sorted(p for p in colleague.folder.rglob("*") if p.is_file()) == before


def forged(book, document, **changes):
    """A file that is signed and whole, with one entry more than its case has."""
    head = unpacked(book.handovers.give(REF, "vet1", NOW), "x").header
    entry = (document["id"], document["sha256"])
    head = replace(head, **{"entries": (entry,), "pictures": (), **changes})
    signed = header_bytes(head)
    return packed(signed, signature(book.folder, signed), {entry[0]: document}, {})


def test_a_signed_file_writes_nowhere_but_among_its_cases_entries(first, colleague):
    practice = PracticeSet(a_practice(name="Mine now"))
    for device, stream, body, why in (
        ("../../out", REF, Note("x"), "named as no entry can be"),
        ("d1", REF, practice, "belongs to another case"),
        ("d1", "register", Note("x"), "no reference of a case"),
        ("d1", "../../out", Note("x"), "no reference of a case"),
    ):
        document = encode(Envelope(device, 0, 1, NOW, "vet1", stream, ""), body)
        with pytest.raises(RefusedInputError, match=why):
            taken_in(colleague, forged(first, document, case=stream))


def test_without_the_library_a_signed_file_says_what_to_install(first, colleague, monkeypatch):
    data = first.handovers.give(REF, "vet1", NOW)
    for name in ("cryptography.exceptions", "cryptography.hazmat.primitives.asymmetric"):
        monkeypatch.setitem(sys.modules, name, None)
    with pytest.raises(RefusedInputError, match=r"fieldnotes\[seal\]"):
        taken_in(colleague, data)


def test_a_sender_whose_key_changed_is_taken_in_only_when_compared(first, colleague, tmp_path):
    taken_in(colleague, first.handovers.give(REF, "vet1", NOW))
    (first.folder / "signing.key").unlink()
    anew = first.handovers.give("p3x9z", "vet1", NOW)
    with pytest.raises(RefusedInputError, match="another key than before"):
        taken_in(colleague, anew)
    assert taken_in(colleague, anew, trust=first.handovers.fingerprint) > 0


def test_who_has_the_same_id_but_another_name_is_not_mixed_up(first, colleague):
    colleague.append("register", [HorseSet(a_horse(name="Somebody Else"))], "vet9", NOW)
    with pytest.raises(RefusedInputError, match="Somebody Else here"):
        taken_in(colleague, first.handovers.give(REF, "vet1", NOW))


def test_the_private_key_is_readable_by_its_owner_only_and_in_no_backup(first, tmp_path):
    from fieldnotes.storage.backup import back_up

    data = first.handovers.give(REF, "vet1", NOW)
    key = first.folder / "signing.key"
    assert key.stat().st_mode & 0o077 == 0
    assert key.read_bytes() not in data
    back_up(first.folder, tmp_path / "b.zip", NOW)
    assert "signing.key" not in zipfile.ZipFile(tmp_path / "b.zip").namelist()


def test_a_copy_of_the_store_signs_with_the_same_key_and_the_header_says_who(first, tmp_path):
    data = first.handovers.give(REF, "vet1", NOW)
    head = unpacked(data, "x").header
    assert (head.case, head.by) == (REF, a_person().name)
    assert head.heads[-1][0] == ids(first)[-1]
    twin = Casebook(shutil.copytree(first.folder, tmp_path / "twin"))
    assert twin.handovers.fingerprint == first.handovers.fingerprint


def test_a_locked_store_hands_over_and_takes_in_like_any_other(first, colleague, monkeypatch):
    monkeypatch.setattr(vault, "STANDARD", vault.Cost(32, 1, 4))
    export_shipped(first.folder)
    told = first.handovers.fingerprint
    turn_on(first, "plum saddle quiet rain", new_recovery_key())
    data = Casebook(first.folder).handovers.give(REF, "vet1", NOW)
    assert first.handovers.fingerprint == told
    assert (first.folder / "signing.key").read_bytes().startswith(MAGIC)
    assert "handout.md.j2" in Casebook(first.folder).templates()
    taken_in(colleague, data)
    colleague.append(REF, [Note("back soon")], "vet9", NOW)
    taken_in(Casebook(first.folder), colleague.handovers.give(REF, "vet9", NOW))
    again = Casebook(first.folder)
    assert again.case(REF).notes[-1].body.text == "back soon"
    assert check_store(again).findings == ()


def test_the_apps_import_shows_what_a_file_would_bring_before_it_writes(first, colleague, tmp_path):
    file = tmp_path / "case.zip"
    file.write_bytes(first.handovers.give(REF, "vet1", NOW))
    plan = plan_import(colleague, str(file), "", {}, NOW)
    assert first.handovers.fingerprint in plan.known[0]
    assert REF not in colleague.state().rows
    assert bring_in(colleague, plan, "vet9", NOW) == plan.count == len(ids(first)) + 4
    assert plan_import(colleague, str(file), "", {}, NOW).count == 0
