"""The practice's templates of common wounds: names, and a file out and in again."""

from __future__ import annotations

import json

import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.casework.wound_templates import WoundTemplates
from fieldnotes.cli.main import main
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.domain.text import clean, clean_line
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.wound_template_file import FORMAT, VERSION
from tests.builders import at
from tests.desks import Clock, known
from tests.hostile import HOSTILE

WIRE = {"mechanism": "wire", "care.A.closure": "second intention"}


@pytest.fixture
def store(tmp_path):
    create_store(tmp_path / "store")
    return tmp_path / "store"


@pytest.fixture
def desk(store):
    return known(Casework(Casebook(store), Clock(at(0, 12))))


@pytest.fixture
def ours(desk):
    found = WoundTemplates(desk)
    found.keep("Wire cut", "first_visit", WIRE)
    found.keep("Kick", "recheck", {"care.A.bandage": "distal limb"})
    return found


@pytest.fixture
def run(store, ours, capsysbinary):
    def call(*words):
        capsysbinary.readouterr()
        code = main(["--data", str(store), "templates", "wounds", *words])
        out, err = capsysbinary.readouterr()
        return code, out.decode(), err.decode()

    return call


@pytest.fixture
def file_of(tmp_path):
    def write(*rows, **changes):
        document = {"format": FORMAT, "version": VERSION, "templates": rows} | changes
        path = tmp_path / "wounds.json"
        path.write_text(json.dumps(document), encoding="utf-8")
        return str(path)

    return write


def row(name="Staple", form="first_visit", **answers):
    return {"name": name, "form": form, "answers": answers or {"mechanism": "staple"}}


def names(store):
    return [t.name for t in WoundTemplates(Casework(Casebook(store), Clock(at(0, 12)))).all()]


def test_a_name_is_held_by_one_template_whatever_its_case_and_spaces(ours):
    with pytest.raises(RefusedInputError, match="there is a template 'WIRE cut' already"):
        ours.keep("WIRE   cut", "recheck", WIRE)
    with pytest.raises(RefusedInputError, match="already"):
        ours.rename(ours.named("kick"), "wire cut")
    ours.rename(ours.named("wire"), "WIRE CUT")  # its own name, written otherwise
    assert ours.named("wire cut").name == "WIRE CUT"


@pytest.mark.parametrize("name", ["", "  ", "\u200b", "...", "x" * 61])
def test_a_template_needs_a_name_that_can_be_read(ours, name):
    with pytest.raises(RefusedInputError, match="a name"):
        ours.keep(name, "first_visit", WIRE)


def test_a_new_template_does_not_overwrite_a_renamed_one_that_had_its_name(ours):
    ours.rename(ours.named("wire"), "Wire, old way")
    ours.keep("Wire cut", "first_visit", {"mechanism": "barbed wire"})
    assert dict(ours.named("wire, old way").answers) == WIRE
    assert dict(ours.named("wire cut").answers) == {"mechanism": "barbed wire"}
    assert len({t.id for t in ours.all()}) == 3


def test_one_taken_off_the_list_leaves_its_name_free(ours):
    ours.remove(ours.named("wire"))
    assert [t.name for t in ours.all()] == ["Kick"]
    ours.keep("Wire cut", "first_visit", {"mechanism": "barbed wire"})
    assert dict(ours.named("wire").answers) == {"mechanism": "barbed wire"}


def test_a_name_that_fits_none_or_several_lists_what_there_is(ours):
    ours.keep("Wire, hock", "first_visit", WIRE)
    with pytest.raises(UnknownNameError, match="more than one begins so: 'Wire cut', 'Wire, hock'"):
        ours.named("wire")
    with pytest.raises(UnknownNameError, match="no template is called 'nail': 'Kick', 'Wire cut'"):
        ours.named("nail")


def test_list_and_show_speak_plainly_and_as_json(run):
    code, out, _ = run("list")
    assert code == 0
    assert [line.split("  ")[0] for line in out.splitlines()] == ["template", "Kick", "Wire cut"]
    assert "first visit" in out
    assert "care.A.closure  second intention" in run("show", "wire")[1]
    [kick, wire] = json.loads(run("list", "--json")[1])
    assert (kick["form"], wire["answers"]) == ("recheck", WIRE)
    assert json.loads(run("show", "wire", "--json")[1]) == wire


def test_rename_and_remove_print_the_entry(run, store):
    assert run("rename", "kick", "Kick, hock")[0] == 0
    code, out, _ = run("remove", "wire", "--json")
    assert (code, list(json.loads(out))) == (0, ["entry"])
    assert names(store) == ["Kick, hock"]
    code, out, err = run("rename", "wire", "x")
    assert (code, out) == (1, "")
    assert "no template is called 'wire'" in err


def test_what_is_exported_comes_in_elsewhere_the_same_and_a_second_time_as_known(
    run, ours, tmp_path
):
    file = str(tmp_path / "wounds.json")
    assert run("export", "--output", file)[0] == 0
    for name in ("wire", "kick"):
        ours.remove(ours.named(name))
    assert "nothing written" in run("import", file, "--dry-run")[1]
    assert run("list")[1].startswith("No template is kept yet")
    assert "2 written" in run("import", file)[1]
    assert run("export")[1].encode() == (tmp_path / "wounds.json").read_bytes()
    told = json.loads(run("import", file, "--json")[1])
    assert (told["written"], {t["state"] for t in told["templates"]}) == (0, {"known"})
    assert [t["name"] for t in json.loads(run("export", "kick")[1])["templates"]] == ["Kick"]


def test_a_name_in_use_is_refused_unless_it_is_to_be_replaced(run, store, file_of):
    file = file_of(row(), row("wire CUT", mechanism="barbed wire"))
    code, out, err = run("import", file)
    assert (code, out) == (1, "")
    assert "template 2: another template is called 'wire CUT'" in err
    assert names(store) == ["Kick", "Wire cut"]
    assert "replaced" in run("import", file, "--replace", "--dry-run")[1]
    assert names(store) == ["Kick", "Wire cut"]
    assert run("import", file, "--replace")[0] == 0
    assert names(store) == ["Kick", "Staple", "wire CUT"]


def test_every_line_that_is_wrong_is_named_at_once_and_nothing_is_written(run, store, file_of):
    file = file_of(
        row(),
        "no group",
        {"name": "a", "form": "recheck"},
        row("b", extra={"x": 1}) | {"colour": "red"},
        row("c", mechanism=3),
        row("d", form="note"),
        row("e", horse="copper", mechanism="wire"),
        row("f", mechanism="  "),
        row("..."),
        row("staple"),
        row(["g"]),
    )
    code, out, err = run("import", file)
    assert (code, out) == (1, "")
    wrong = {
        2: "a group of fields is needed",
        3: "answers is missing",
        4: "colour: there is no such field",
        5: "answers: a text is needed",
        6: "form: 'note' is not one of first_visit, recheck",
        7: "answers: horse is of one horse and one day",
        8: "answers: there is none",
        9: "a name is needed",
        10: "'staple' stands twice",
        11: "name and form are texts",
    }
    for number, words in wrong.items():
        assert f"template {number}: {words}" in err
    assert "template 1:" not in err
    assert names(store) == ["Kick", "Wire cut"]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"format": "other"}, "this is not"),
        ({"version": 2}, "only version 1"),
        ({"templates": {}}, "a list is needed"),
    ],
)
def test_a_file_of_another_kind_is_refused(run, file_of, changes, words):
    code, _, err = run("import", file_of(row(), **changes))
    assert code == 1
    assert words in err


def test_a_broken_or_missing_file_is_refused_with_its_place(run, tmp_path):
    (tmp_path / "broken.json").write_text('{"format": ', encoding="utf-8")
    assert "line 1, column" in run("import", str(tmp_path / "broken.json"))[2]
    assert "FILE: " in run("import", str(tmp_path / "none.json"))[2]


def test_hostile_names_and_answers_are_cleaned_on_the_way_in(run, store, file_of):
    texts = [t for t in HOSTILE if 0 < len(clean_line(t)) < 50 and any(map(str.isalnum, t))]
    rows = [row(f"{n} {text}", mechanism=text) for n, text in enumerate(texts)]
    code, _, err = run("import", file_of(*rows))
    assert (code, err) == (0, "")
    kept = WoundTemplates(Casework(Casebook(store), Clock(at(0, 12)))).all()
    assert len(kept) == len(texts) + 2
    for template in kept:
        assert template.name == clean_line(template.name)
        assert all(text == clean(text) for _, text in template.answers)
    shown = run("list")[1]
    assert shown == clean(shown)
    assert len(shown.splitlines()) == len(kept) + 1
