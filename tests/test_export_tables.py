"""Everything leaves as CSV tables that any reader takes apart again and no spreadsheet runs."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import sqlite3
import subprocess
import zipfile

import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.cli.export_tables import _BODIES, NAMES
from fieldnotes.cli.main import main
from fieldnotes.domain.entries import REGISTER, Amendment, CaseOpened, Note, OwnerSet, WoundAdded
from fieldnotes.domain.register import REGISTER_BODIES
from fieldnotes.domain.retention import Purged
from fieldnotes.domain.text import defused
from fieldnotes.domain.vials import VIAL_KINDS
from fieldnotes.storage import entry
from fieldnotes.storage.casebook import Casebook, create_store
from tests.builders import a_drug_dispensed, a_drug_given, a_report, an_opening, an_owner, at
from tests.desks import Clock, first_visit, known

NASTY = 'He said "box, rest";\nthen "no"'
# A field by the grammar of RFC 4180, section 2: quoted, with doubled quotes, or plain.
FIELD = re.compile(r'(?:"((?:[^"]|"")*)"|([^",\r\n]*))(,|\r\n)')


def by_the_grammar(text):
    """Read a table by the letter of RFC 4180; fails on anything that is outside its grammar."""
    rows, row, at_ = [], [], 0
    while at_ < len(text):
        found = FIELD.match(text, at_)
        assert found, text[at_ : at_ + 40]
        row.append(found[1].replace('""', '"') if found[1] is not None else found[2])
        at_ = found.end()
        if found[3] == "\r\n":
            rows, row = [*rows, row], []
    assert row == []
    return rows


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    folder = tmp_path_factory.mktemp("tables") / "store"
    create_store(folder)
    book = Casebook(folder)
    desk = known(Casework(book, Clock(at(2))), note="=HYPERLINK(A1)")
    desk.save(OwnerSet(an_owner(id="o2", name="Jörg Öhm", note="-2+3")))
    visit = first_visit(given=(a_drug_given("flunixin"),), dispensed=(a_drug_dispensed(),))
    book.append("k7m2q", [an_opening(mechanism="@SUM(1)"), visit, Note(NASTY)], "vet1", at(1))
    seen = book.case("k7m2q").visits[0].entry.id
    again = first_visit(instructions="+hand walk")
    book.append("k7m2q", [a_report(1), Amendment(seen, "box", "typo", again)], "vet1", at(1))
    return folder


@pytest.fixture(scope="module")
def texts(store, tmp_path_factory):
    target = tmp_path_factory.mktemp("out") / "all.zip"
    assert main(["--data", str(store), "export", "--format", "csv", "--output", str(target)]) == 0
    with zipfile.ZipFile(target) as archive:
        assert archive.testzip() is None
        names = [n for n in archive.namelist() if n.endswith(".csv")]
        return {n.removesuffix(".csv"): archive.read(n).decode("utf-8") for n in names}


def rows(texts, name):
    return list(csv.DictReader(io.StringIO(texts[name], newline=""), strict=True))


def test_there_is_a_table_of_everything_and_every_one_has_its_columns(texts):
    assert set(texts) == set(NAMES)
    kinds = {*_BODIES.values(), CaseOpened, WoundAdded}  # the first two are `cases` and `wounds`
    rest = {*REGISTER_BODIES, *VIAL_KINDS.values(), Purged}  # in `entries`, whole
    assert kinds | rest == set(entry.KINDS.values())
    assert all(text.startswith(tuple("abcdefghijklmnoprstuvwxyz")) for text in texts.values())
    assert all(len({len(row) for row in by_the_grammar(t)}) == 1 for t in texts.values())


def test_two_readers_that_know_nothing_of_each_other_read_the_same(texts):
    for name, text in texts.items():
        theirs = list(csv.reader(io.StringIO(text, newline=""), strict=True))
        assert by_the_grammar(text) == theirs, name


@pytest.mark.skipif(shutil.which("sqlite3") is None, reason="the sqlite3 shell is not installed")
def test_a_database_takes_the_tables_in(texts, tmp_path):
    base = tmp_path / "base"
    for name, text in texts.items():
        (tmp_path / f"{name}.csv").write_bytes(text.encode())
        load = f".import --csv {tmp_path}/{name}.csv {name}"
        subprocess.run(["sqlite3", base, load], check=True)
    with sqlite3.connect(base) as found:
        joined = "select n.text from notes n join cases c on c.ref = n.'case' where c.horse = ?"
        assert found.execute(joined, ("Bramble",)).fetchall() == [(NASTY,)]


def test_what_was_recorded_stands_in_the_cells(store, texts):
    assert rows(texts, "notes")[0]["text"] == NASTY
    assert {r["name"] for r in rows(texts, "owners")} == {"Olive Owner", "Jörg Öhm"}
    [visit] = rows(texts, "visits")
    assert visit["amended_by"] == rows(texts, "amendments")[0]["entry"]
    [finding] = rows(texts, "findings")
    assert finding["entry"] == visit["entry"]
    assert rows(texts, "horse_weights")[0]["kg"] == "500.0"
    assert rows(texts, "premises")[0]["position.lon"] == "-2.1"  # a number runs nothing
    book = Casebook(store)
    bodies = [d["body"] for ref in (REGISTER, "k7m2q") for d in book.documents(ref)]
    assert [json.loads(r["body"]) for r in rows(texts, "entries")] == bodies


def test_no_cell_begins_as_a_formula(texts):
    """ASVS 4.0 1.2.10 and CWE-1236: = + - @, tab and carriage return as the first character."""
    cells = [c for text in texts.values() for row in by_the_grammar(text) for c in row]
    begun = {c for c in cells if re.match(r"\s*[=+\-@\t\r]", c)}
    assert all(float(c) < 0 for c in begun)
    assert {"'=HYPERLINK(A1)", "'-2+3", "'+hand walk"} <= set(cells)


@pytest.mark.parametrize("cell", ["=1", "+1", "-1", "@x", "\t=1", "\r=1", "\n=1", " =1", "\uff1d1"])
def test_each_way_to_begin_a_formula_is_defused(cell):
    assert defused(cell) == f"'{cell}"
    assert defused("Bramble = mare") == "Bramble = mare"


def test_one_table_and_a_folder_of_them_hold_the_same(store, texts, tmp_path, capsysbinary):
    assert main(["--data", str(store), "export", "--format", "csv", "--output", str(tmp_path)]) == 0
    for name in ("cases", "horses", "visits", "entries"):
        capsysbinary.readouterr()
        assert main(["--data", str(store), "export", "--table", name]) == 0
        one = capsysbinary.readouterr().out.decode("utf-8")
        assert one == (tmp_path / f"{name}.csv").read_bytes().decode() == texts[name]
