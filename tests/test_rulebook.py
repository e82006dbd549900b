"""The practice's own follow-up rules: changed, added, left out, put back; disputes settled."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import replace

import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.casework.rulebook import RuleBook
from fieldnotes.cli.main import main
from fieldnotes.cli.text import show_case
from fieldnotes.domain.entries import WoundAdded
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.domain.rulebook import RuleChange, RuleFact
from fieldnotes.domain.treatment import ClosureMethod, Lavage
from fieldnotes.storage.casebook import Casebook, create_store
from tests.builders import a_care, a_closure, a_wound, an_opening, at, day
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


def settled(desk, dispute, choice):
    RuleBook(desk).settle(dispute, choice, "our custom")
    return desk.knowledge.settled(dispute)


def test_every_conflict_of_the_reference_sheet_can_be_settled_and_its_default_is_safe(desk):
    # Reference sheet, section 0.1, and how an area is made of two sides.
    lines = {line.dispute.id: line for line in RuleBook(desk).disputes()}
    assert set(lines) == {
        "lavage", "hand-syringe", "tetanus", "golden-period", "drain", "epithelium",
        "sequestrum", "chlorhexidine-joint", "donkey-divisor", "measuring", "splint",
    }  # fmt: skip
    chosen = {name: line.chosen.id for name, line in lines.items()}
    assert chosen["chlorhexidine-joint"] == "never"
    assert chosen["hand-syringe"] == "none"
    assert (chosen["tetanus"], chosen["donkey-divisor"]) == ("6", "3801")
    assert settled(desk, "hand-syringe", "any-gauge").words.startswith("16.7-18.4 psi")


def test_a_misprint_is_shown_but_nobody_can_go_by_it(desk):
    # Pearson and Ouassat, Vet Rec 138:229, 1996: the abstract's 380 gives 1,330 kg.
    with pytest.raises(RefusedInputError, match="1,330 kg"):
        RuleBook(desk).settle("donkey-divisor", "380", "as printed")
    names = {f.id for f in desk.knowledge.weights.formulas}
    settled(desk, "donkey-divisor", "girth-only")
    assert names - {f.id for f in desk.knowledge.weights.formulas} == {"donkey-girth-length"}


def chlorhexidine(desk, fluid):
    visit = first_visit(care=(a_care(lavage=Lavage(fluid, 5000)),))
    said = desk.cautions(an_opening((a_wound(region="left.fore.fetlock.palmar"),)), visit)
    return [c.why for c in said if "chlorhexidine" in c.why.casefold()]


def test_chlorhexidine_near_a_joint_is_warned_of_as_the_practice_settled_it(desk):
    assert any("where a joint" in why for why in chlorhexidine(desk, "chlorhexidine 0.05%"))
    settled(desk, "chlorhexidine-joint", "dilute")
    said = chlorhexidine(desk, "chlorhexidine 0.05%")
    assert any(why.endswith("never the scrub. Settled so by the practice.") for why in said)
    assert not any("where a joint" in why for why in said)
    assert any("where a joint" in why for why in chlorhexidine(desk, "chlorhexidine 0.5%"))
    assert any("where a joint" in why for why in chlorhexidine(desk, "chlorhexidine"))


def closing(desk, hours, method=ClosureMethod.PRIMARY):
    visit = first_visit(care=(a_care(closure=a_closure(method)),))
    said = desk.cautions(an_opening(injured_at=visit.at - dt.timedelta(hours=hours)), visit)
    return [(c.level, c.why) for c in said if c.field == "care.A.closure"]


def test_a_late_primary_closure_is_warned_of_by_the_figure_the_practice_goes_by(desk):
    # Provost, Equine Surgery ch. 5, 2012: classes at 6 and 12 hours; practice pages: 4, 6, 12.
    assert closing(desk, 5) == []
    assert closing(desk, 7)[0][0] == "warn"
    settled(desk, "golden-period", "12-hours")
    assert closing(desk, 11) == []
    assert closing(desk, 13)[0] == (
        "warn", "primary closure 13 h after the injury: over 6-12 hours",
    )  # fmt: skip
    assert "by its time a delayed primary closure" in closing(desk, 96)[1][1]
    assert closing(desk, 96, ClosureMethod.DELAYED_PRIMARY) == []


def test_a_wound_found_later_is_not_as_old_as_the_first(desk):
    visit = first_visit()
    ref = desk.open_case(an_opening(injured_at=visit.at - dt.timedelta(hours=72)), visit).ref
    desk.record(ref, WoundAdded(a_wound("B")))
    later = replace(visit, care=(a_care("B", closure=a_closure(ClosureMethod.PRIMARY)),))
    said = desk.cautions(ref, later)
    assert not [c for c in said if c.field == "care.B.closure"]
    again = replace(visit, care=(a_care(closure=a_closure(ClosureMethod.PRIMARY)),))
    assert [c for c in desk.cautions(ref, again) if c.field == "care.A.closure"]


def test_a_first_visit_says_the_age_class_of_the_wounds(desk):
    visit = first_visit()
    opened = an_opening(injured_at=visit.at - dt.timedelta(hours=8))
    (said,) = [c for c in desk.cautions(opened, visit) if c.field == "injured_at"]
    assert said.level == "note"
    assert said.why.startswith("8 h old, class 2")
    saved = desk.open_case(opened, visit)
    assert not [c for c in desk.cautions(saved.ref, first_visit()) if c.field == "injured_at"]
    assert "first seen 8 h after: class 2" in show_case(desk.file(saved.ref), desk.now())
