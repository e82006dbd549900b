"""The practice's own follow-up rules: changed, added, left out, put back; disputes settled."""

from __future__ import annotations

import json

import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.casework.rulebook import RuleBook
from fieldnotes.cli.main import main
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.domain.rulebook import RuleChange, RuleFact
from fieldnotes.storage.casebook import Casebook, create_store
from tests.builders import an_opening, at, day
from tests.desks import Clock, first_visit, known


@pytest.fixture
def store(tmp_path):
    create_store(tmp_path / "store")
    return tmp_path / "store"


@pytest.fixture
def desk(store):
    return known(Casework(Casebook(store), Clock(at(0, 12))))


@pytest.fixture
def ref(desk):
    return desk.open_case(an_opening(), first_visit()).ref


def of_rule(desk, ref, rule):
    return [t for t in desk.file(ref).plan if t.rule == rule]


def test_a_changed_window_moves_the_task_and_says_who_changed_it_and_why(desk, ref):
    RuleBook(desk).set(RuleChange("drain-out", window_days=(4, 5, 7), reason="our custom"))
    (task,) = of_rule(desk, ref, "drain-out")
    assert (task.earliest, task.due, task.latest) == (day(4), day(5), day(7))
    assert task.reason.endswith("(set by the practice)")
    assert "our custom" in task.source
    assert "Manual of Equine Field Surgery" in task.source  # what was shipped stays named


def test_a_rule_left_out_makes_no_task_and_comes_back_as_shipped(desk, ref):
    shipped = of_rule(desk, ref, "drain-out")
    book = RuleBook(desk)
    book.set(RuleChange("drain-out", off=True, reason="we never place drains"))
    assert of_rule(desk, ref, "drain-out") == []
    assert book.rule("drain-out").state == "off"
    book.reset("drain-out", "we do after all")
    assert of_rule(desk, ref, "drain-out") == shipped


def test_the_practice_adds_a_rule_of_its_own(desk, ref):
    own = RuleChange(
        "own-hosing", kind="owner look", what="hose the limb", owner_words="hose the leg",
        by="owner", anchor="closed", window_days=(2, 2, 2), every_days=1, until_days=5,
        when=(RuleFact("group", ("distal limb",)),), reason="cold water",
    )  # fmt: skip
    RuleBook(desk).set(own)
    (task,) = of_rule(desk, ref, "own-hosing")
    assert task.what == "hose the limb"
    assert task.series.until == day(5)
    assert RuleBook(desk).rule("own-hosing").state == "own"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (RuleChange("drain-out", window_days=(4, 5, 7)), "why"),
        (RuleChange("drain-out", window_days=(9, 5, 7), reason="x"), "window_days"),
        (RuleChange("drain-out", window_days=(4, 5, 70_000), reason="x"), "730 days"),
        (RuleChange("drain-out", anchor="full moon", reason="x"), "anchor"),
        (RuleChange("own", what="half a rule", reason="x"), "own"),
        (RuleChange("drain-out", when=(RuleFact("mood", ("bad",)),), reason="x"), "mood"),
    ],
)
def test_a_rule_that_cannot_work_is_refused_and_the_old_one_stays(desk, ref, change, words):
    before = desk.file(ref).plan
    with pytest.raises(RefusedInputError, match=words):
        RuleBook(desk).set(change)
    assert desk.file(ref).plan == before


def test_a_settled_dispute_moves_its_rule_and_the_tetanus_interval(desk, ref):
    book = RuleBook(desk)
    book.settle("drain", "late", "client instructions")
    assert of_rule(desk, ref, "drain-out")[0].due == day(5)
    book.settle("tetanus", "12", "New Zealand guidelines")
    assert desk.practice().tetanus_rule_months == 12
    chosen = {line.dispute.id: line.chosen.id for line in book.disputes()}
    assert (chosen["drain"], chosen["tetanus"], chosen["lavage"]) == ("late", "12", "range")
    with pytest.raises(UnknownNameError, match="early, late"):
        book.settle("drain", "never", "x")


def test_rules_are_read_and_changed_by_command(desk, ref, store, capsys):
    run = ["--data", str(store), "--now", "2025-06-02T12:00:00Z", "rules"]
    assert main([*run, "set", "drain-out", "--window", "4,5,7"]) == 1
    assert main([*run, "set", "drain-out", "--window", "a,b", "--reason", "x"]) == 1
    assert "three days" in capsys.readouterr().err
    assert main([*run, "set", "drain-out", "--window", "4,5,7", "--reason", "custom"]) == 0
    capsys.readouterr()
    assert main([*run, "show", "drain-out", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert (document["state"], document["window_days"]) == ("changed", [4, 5, 7])
    assert main([*run, "list", "--json"]) == 0
    assert len(json.loads(capsys.readouterr().out)) > 60
    assert main([*run, "disputes", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)[0]["in_force"] == "early"
