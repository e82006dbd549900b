"""Tables of owners, premises and horses are read whole or refused with line, column and reason."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldnotes.cli.main import main
from fieldnotes.domain.entries import PersonSet, PracticeSet
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.register import Register
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.sheet_mapping import mapping_of, suggest, table_of
from fieldnotes.storage.sheet_records import read_rows
from fieldnotes.storage.sheets import read_sheet
from tests.builders import a_person, a_practice, a_premises, an_owner

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
TODAY = NOW.date()


def read(text, table="owners", register=None, mapping=None, name="x.csv"):
    data = text if isinstance(text, bytes) else text.encode()
    sheet = read_sheet(data, name)
    known = register or Register()
    return read_rows(sheet, table, mapping_of(sheet, table, mapping or {}), known, TODAY)


@pytest.fixture
def store(tmp_path, monkeypatch):
    folder = tmp_path / "store"
    create_store(folder)
    bodies = [PracticeSet(a_practice()), PersonSet(a_person())]
    Casebook(folder).append("register", bodies, "vet1", NOW)
    monkeypatch.setenv("FIELDNOTES_DATA", str(folder))
    monkeypatch.chdir(tmp_path)
    return folder


def entries(folder):
    return sorted(p.name for p in (folder / "entries").rglob("*.json"))


# ----- reading


@pytest.mark.parametrize("sign", [",", ";", "\t", "|"])
def test_the_sign_that_divides_the_cells_is_found(sign):
    found = read(sign.join(("Name", "Phone")) + "\n" + sign.join(("Cora", "01632 960001")))
    assert found.bodies[0].owner.phone == "01632 960001"


def test_a_byte_order_mark_quotes_and_newlines_in_cells_are_taken():
    found = read(b'\xef\xbb\xbfname,address\r\n"Ek, B\xc3\xb6rje","Hill\nFarm"\r\n')
    [body] = found.bodies
    assert (body.owner.name, body.owner.address) == ("Ek, Börje", "Hill Farm")


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"name\nJos\xe9\n", r"x\.csv, line 2: not utf-8 \(byte 0xE9\).*Windows-1252.*cp1252"),
        ("name\nA\n".encode("utf-16"), "UTF-16"),
        (b"PK\x03\x04zip", "spreadsheet"),
        (b"", "empty"),
        (b"name,phone\nA\n", r"line 2: 1 cells, but there are 2"),
        (b'name\n"A\n', r"line 2"),
        (b"name,name\nA,B\n", r"'name' stands twice"),
        (b"name\nA\0\n", r"line 2: a NUL"),
        (b"who,what\nA,B\n", r"no column for name.*--map name=COLUMN"),
    ],
)
def test_a_table_that_cannot_be_read_is_refused_with_place_and_reason(data, told):
    with pytest.raises(RefusedInputError, match=told):
        read(data)


def test_every_wrong_line_is_told_with_its_column():
    found = read("Name,Mail\nA,nomail\n,x@example.org\nB,b@example.org\nb,\n")
    assert found.problems == (
        "x.csv, line 2, column Mail: 'nomail' is not an email address",
        "x.csv, line 3, column Name: is empty",
        "x.csv, line 5: b stands on line 4 already",
    )


def test_an_owner_known_already_is_named_with_the_id():
    register = Register(owners={"o1": an_owner()})
    found = read(f"name\n{an_owner().name.upper()}\n", register=register)
    assert found.bodies == ()
    assert "known already (o1)" in found.known[0]


def test_a_horse_is_joined_to_its_owner_and_place_by_name_and_a_misspelt_one_is_refused():
    register = Register(owners={"o1": an_owner()}, premises={"p1": a_premises()})
    owner, place = an_owner().name, a_premises().name
    head = "horse,client,yard,species,kg,dob\n"
    found = read(f"{head}Pip,{owner},{place},horse,480,2015-04-01\n", "horses", register)
    horse = found.bodies[0].horse
    assert (horse.premises, horse.parties[0].owner, horse.weight().kg) == ("p1", "o1", 480)
    pounds = read(f"{head}Kim,{owner},{place},horse,1050 lb,\n", "horses", register)
    assert pounds.bodies[0].horse.weight().kg == 476.3  # 1050 x 0.45359237
    wrong = read(
        f"{head}Pip,{owner}x,{place},horse,,\nZed,,{place},unicorn,,\nMay,,{place},horse,9999,\n"
        f"Joy,,{place},horse,,31/12/2015\nKit,,{place},horse,,2030-01-01\n",
        "horses",
        register,
    )
    told = "\n".join(wrong.problems)
    for part in ("column client: nobody", "column species: 'unicorn'", "column kg: 9999",
                 "'31/12/2015' is not a date", "in the future"):  # fmt: skip
        assert part in told
    assert len(wrong.problems) == 5


def test_a_word_may_stand_for_every_row():
    register = Register(premises={"p1": a_premises()})
    text = f"name,yard\nPip,{a_premises().name}\n"
    found = read(text, "horses", register, {"species": "=donkey"})
    assert found.bodies[0].horse.species == "donkey"


def test_a_position_needs_both_numbers_and_they_must_be_on_the_earth():
    found = read("name,lat,lon\nA,54.1,-1.2\nB,54.1,\nC,91,0\nD,nan,0\n", "premises")
    assert found.bodies[0].premises.position.lat == 54.1
    assert len(found.problems) == 3


def test_the_mapping_is_suggested_from_common_headings():
    assert suggest("owners", ("Client Name", "Tel.", "E-Mail", "Shoe size")) == {
        "name": "Client Name",
        "phone": "Tel.",
        "email": "E-Mail",
    }
    assert table_of(read_sheet(b"horse,owner,stable,species\n", "list.csv")) == "horses"
    assert table_of(read_sheet(b"yard,latitude,longitude\n", "list.csv")) == "premises"


# ----- writing


def test_a_dry_run_writes_nothing_and_an_import_writes_all_of_it_once(store, tmp_path, capsys):
    (tmp_path / "owners.csv").write_text("name\nA\nB\n", "utf-8")
    (tmp_path / "premises.csv").write_text("name\nHill\n", "utf-8")
    (tmp_path / "horses.csv").write_text("name,owner,yard,species\nPip,A,Hill,horse\n", "utf-8")
    files, before = ["horses.csv", "owners.csv", "premises.csv"], entries(store)
    assert main(["import", *files, "--dry-run"]) == 0
    assert entries(store) == before
    assert main(["import", *files]) == 0
    assert len(entries(store)) == len(before) + 4
    assert main(["import", *files]) == 1
    assert "known already" in capsys.readouterr().err
    assert main(["import", *files, "--skip-known"]) == 0
    assert len(entries(store)) == len(before) + 4


def test_one_wrong_line_keeps_every_table_out(store, tmp_path, capsys):
    (tmp_path / "owners.csv").write_text("name,mail\nA,\nB,nomail\n", "utf-8")
    (tmp_path / "premises.csv").write_text("name\nHill\n", "utf-8")
    before = entries(store)
    assert main(["import", "owners.csv", "premises.csv"]) == 1
    assert "owners.csv, line 3, column mail" in capsys.readouterr().err
    assert entries(store) == before


def test_a_mapping_that_fits_nothing_names_the_nearest(store, tmp_path, capsys):
    (tmp_path / "owners.csv").write_text("Name\nA\n", "utf-8")
    assert main(["import", "owners.csv", "--map", "name=Nome"]) == 1
    assert "did you mean 'Name'" in capsys.readouterr().err
    assert main(["import", "owners.csv", "--map", "nam=Name"]) == 1
    assert "did you mean 'name'" in capsys.readouterr().err


CELLS = st.text(
    st.characters(codec="utf-8") | st.sampled_from(',;"\n\r\t=@-+\0\ufeff\u202e'), max_size=12
)
TABLE = st.lists(st.lists(CELLS, min_size=1, max_size=4), min_size=0, max_size=5)


def whole_or_refused(data, table):
    """Read bytes as a table; a refusal must name the file."""
    try:
        found = read(data, table)
    except RefusedInputError as refusal:
        assert "x.csv" in str(refusal)  # noqa: PT017
    else:
        sheet = read_sheet(data, "x.csv")
        assert len(found.bodies) + len(found.problems) + len(found.known) == len(sheet.rows)
        assert all(line.startswith("x.csv, line ") for line in (*found.problems, *found.known))


def csv_bytes(rows):
    lines = (",".join('"' + cell.replace('"', '""') + '"' for cell in row) for row in rows)
    return ("name,species,yard,owner\n" + "\n".join(lines)).encode()


@settings(max_examples=150, deadline=None)
@given(TABLE.map(csv_bytes) | st.binary(max_size=80), st.sampled_from(["owners", "horses"]))
def test_whatever_stands_in_a_table_every_row_is_read_or_named(data, table):
    whole_or_refused(data, table)


@pytest.mark.long
@settings(max_examples=50_000, deadline=None)
@given(TABLE.map(csv_bytes) | st.binary(max_size=200), st.sampled_from(["owners", "horses"]))
def test_fifty_thousand_tables_are_read_or_refused(data, table):
    whole_or_refused(data, table)


HORSES = (
    "name,premises,species,food chain,allergies,competes,governing body,foaling due,lactating\n"
)


def test_what_the_drug_rules_ask_of_a_horse_is_read_from_its_table():
    place = a_premises()
    row = f"Dot,{place.id},horse,intended,penicillin; latex,yes,FEI,2027-04-02,no\n"
    known = Register(premises={place.id: place})
    [body] = read(HORSES + row, "horses", known).bodies
    horse = body.horse
    assert horse.status_words() == (
        "! allergy: penicillin, latex",
        "food chain: intended",
        "competes FEI",
        "in foal, due 02 Apr 2027",
    )
    assert not horse.lactating
    for cell, word in (("intended", "maybe"), ("yes", "often"), ("2027-04-02", "soon")):
        faults = read(HORSES + row.replace(cell, word), "horses", known).problems
        assert any(word in str(fault) for fault in faults)
