"""`init` makes a store of a practice from options or from what is asked, and only a right one."""

from __future__ import annotations

import json

import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.cli.main import main
from fieldnotes.domain.mail import MailServer
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.drafts import Drafts
from fieldnotes.storage.place import is_store
from tests.builders import at
from tests.desks import Clock

LEAST = ("--name", "Hill Practice", "--phone", "01632 960001", "--vet", "A Vet; R-1001")


@pytest.fixture
def init(tmp_path, monkeypatch, capsys):
    """Run init on a folder; `typed` are the answers of a terminal."""
    monkeypatch.setenv("TZ", "Europe/Dublin")

    def run(*words, typed=None):
        answers = iter(typed or ())
        monkeypatch.setattr("sys.stdin", type("In", (), {"isatty": lambda _: typed is not None})())
        monkeypatch.setattr("builtins.input", lambda _question: next(answers))
        code = main(["--data", str(tmp_path / "new"), "init", *words])
        assert next(answers, None) is None
        return code, capsys.readouterr()

    run.folder = tmp_path / "new"
    return run


def practice_in(folder):
    desk = Casework(Casebook(folder), Clock(at(0, 12)))
    return desk.practice(), desk.register().people


def test_options_alone_make_a_store_that_can_be_worked_in(init):
    code, said = init(
        *LEAST, "--base", "54.51, -1.62", "--units", "us", "--nurse", "B Nurse",
        "--mail-host", "mail.example.org",
    )  # fmt: skip
    assert (code, str(init.folder) in said.out) == (0, True)
    practice, people = practice_in(init.folder)
    assert (practice.name, practice.units, practice.zone) == (
        "Hill Practice",
        "us",
        "Europe/Dublin",
    )
    assert practice.mail_server == MailServer("mail.example.org")
    assert [(p.name, p.role, p.licence) for p in people.values()] == [
        ("A Vet", "vet", "R-1001"), ("B Nurse", "nurse", ""),
    ]  # fmt: skip
    assert main(["--data", str(init.folder), "today"]) == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--phone", "1", "--vet", "A"), "--name"),
        (("--name", "H", "--phone", "1"), "--vet"),
        ((*LEAST, "--base", "95, 1"), "--base"),
        ((*LEAST, "--zone", "Mars/Base"), "--zone"),
        ((*LEAST, "--units", "stone"), "--units"),
        ((*LEAST, "--email", "nobody"), "--email"),
        ((*LEAST, "--mail-host", "a b"), "--mail-host"),
        ((*LEAST, "--mail-host", "mail.example.org", "--mail-port", "99999"), "--mail-port"),
    ],
)
def test_what_is_missing_or_wrong_is_named_and_nothing_is_made(init, words, said):
    code, told = init(*words)
    assert code == 1
    assert said in told.err
    assert not is_store(init.folder)


def test_a_terminal_is_asked_what_was_not_given_and_again_where_it_is_wrong(init):
    typed = ("", "Hill Practice", "", "nobody", "", "95, 1", "54.51, -1.62", "us", "Mars", "",
             "", "A Vet", "office@example.org")  # fmt: skip
    code, said = init("--phone", "01632 960001", typed=typed)
    assert code == 0
    assert said.err.count("!") == 5
    practice, people = practice_in(init.folder)
    assert (practice.base.lat, practice.email) == (54.51, "office@example.org")
    assert practice.zone == "Europe/Dublin"
    assert [p.name for p in people.values()] == ["A Vet"]


def test_a_practice_that_is_there_is_refused_kindly_and_stays_as_it_is(init):
    assert init(*LEAST)[0] == 0
    code, said = init("--name", "Other", *LEAST[2:])
    assert code != 0
    assert "stays as it is" in said.err
    assert practice_in(init.folder)[0].name == "Hill Practice"


def test_a_first_run_begun_in_the_app_is_ended_here(init):
    create_store(init.folder)
    drafts = Drafts(init.folder / "drafts")
    drafts.save("set-up", "set_up", "", "Setting up", "2026-03-03", {"name": "Half"})
    code, said = init(*LEAST, "--json")
    assert code == 0
    assert json.loads(said.out)["people"] == ["A Vet"]
    assert drafts.list() == ()


def test_a_folder_with_other_things_in_it_is_left_alone(init):
    init.folder.mkdir()
    (init.folder / "letter.txt").write_text("dear owner")
    code, said = init(*LEAST)
    assert code != 0
    assert "not empty" in said.err
    assert [p.name for p in init.folder.iterdir()] == ["letter.txt"]
