"""What the plan did after an entry, and the answers to flags, at the desk and by command."""

from __future__ import annotations

import json

import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.cli.main import main
from fieldnotes.domain.entries import Death, FollowUpOutcome, Hold, Outcome
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.storage.casebook import Casebook, create_store
from tests.builders import a_care, a_finding, a_visit, an_opening, at, day
from tests.desks import Clock, first_visit, known


@pytest.fixture
def clock():
    return Clock(at(0, 12))


@pytest.fixture
def store(tmp_path):
    create_store(tmp_path / "store")
    return tmp_path / "store"


@pytest.fixture
def desk(store, clock):
    return known(Casework(Casebook(store), clock))


@pytest.fixture
def ref(desk):
    return desk.open_case(an_opening(), first_visit()).ref


def undermined(desk, clock, ref, on, mm):
    clock.moment = at(on, 12)
    finding = a_finding(length_mm=40, width_mm=30, undermined_mm=mm)
    desk.record(ref, a_visit(on, findings=(finding,)))
    wound = desk.file(ref).wounds[0]
    return {f.flag for f in wound.flags}, {f.flag: a for f, a in wound.answered}


def test_an_answered_flag_is_shown_with_its_answer_and_returns_when_worse(desk, clock, ref):
    assert undermined(desk, clock, ref, 6, 12) == ({"undermining"}, {})
    desk.aftercare.answer(ref, "undermining", "A", "wait", "filling from below")
    open_flags, answered = undermined(desk, clock, ref, 8, 12)
    assert "undermining" not in open_flags
    assert answered["undermining"].reason == "filling from below"
    open_flags, answered = undermined(desk, clock, ref, 10, 20)
    assert "undermining" in open_flags
    assert answered == {}


def test_an_answer_needs_a_reason_a_known_word_and_a_flag_that_is_raised(desk, clock, ref):
    undermined(desk, clock, ref, 6, 12)
    with pytest.raises(RefusedInputError, match="why"):
        desk.aftercare.answer(ref, "undermining", "A", "wait", " ")
    with pytest.raises(RefusedInputError, match="accepted, wait, not applicable"):
        desk.aftercare.answer(ref, "undermining", "A", "later", "busy")
    with pytest.raises(UnknownNameError, match="undermining on wound A"):
        desk.aftercare.answer(ref, "stalled", "A", "wait", "busy")


def test_the_plan_says_what_the_last_entry_changed_and_a_note_hides_nothing(desk, clock, ref):
    assert any(line.startswith("new: take the drain out") for line in desk.aftercare.changes(ref))
    clock.moment = at(2, 12)
    desk.record(ref, a_visit(2, care=(a_care(removed=("drain",)),)))
    desk.note(ref, "owner pleased")
    gone = "no longer due: take the drain out in wound A (5 Jun): drain removed 4 Jun"
    assert gone in desk.aftercare.changes(ref)


@pytest.mark.parametrize(
    "stop", [Death(day(0), euthanased=False), Hold(on_hold=True, on=day(0), reason="away")]
)
def test_death_and_hold_list_every_task_they_withdrew(desk, ref, stop):
    before = desk.file(ref).plan
    desk.record(ref, stop)
    assert desk.file(ref).plan == ()
    assert desk.aftercare.withdrawn(ref) == before
    assert len(desk.aftercare.changes(ref)) == len(before)


def test_a_culture_told_to_the_owner_needs_its_result(desk, ref):
    desk.record(ref, a_visit(0, care=(a_care(culture="swab"),)))
    key = next(t.key for t in desk.file(ref).plan if t.rule == "culture-result")
    with pytest.raises(RefusedInputError, match="what did it show"):
        desk.record(ref, FollowUpOutcome(key, Outcome.DONE, day(0), told_owner=True))
    told = FollowUpOutcome(key, Outcome.DONE, day(0), told_owner=True, result="no growth")
    desk.record(ref, told)
    assert key not in {t.key for t in desk.file(ref).plan}


def test_a_result_waits_for_the_owner_and_is_told_by_command(desk, store, ref, capsys):
    desk.record(ref, a_visit(0, care=(a_care(culture="swab"),)))
    run = ["--data", str(store), "--now", "2025-06-02T12:00:00Z", "plan", ref]
    assert main([*run, "done", "culture-result", "--result", "no growth"]) == 0
    capsys.readouterr()
    assert main([*run, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    (open_still,) = (t for t in document["plan"] if t["rule"] == "culture-result")
    assert open_still["note"] == "result: no growth; the owner has not been told"
    assert main([*run, "done", open_still["key"], "--told", "--json"]) == 0
    assert any("culture" in line for line in json.loads(capsys.readouterr().out)["changes"])
    assert not any(t.rule == "culture-result" for t in desk.file(ref).plan)


def test_a_task_is_moved_and_one_set_by_hand_by_command(desk, store, ref, capsys):
    run = ["--data", str(store), "--now", "2025-06-02T12:00:00Z", "plan", ref]
    assert main([*run, "moved", "drain-out", "--to", day(3).isoformat(), "--who", "owner"]) == 0
    add = ["add", "ring the insurer", "--due", day(5).isoformat(), "--wound", "A"]
    assert main([*run, *add]) == 0
    plan = desk.file(ref).plan
    assert [t.due for t in plan if t.rule == "drain-out"] == [day(3)]
    assert [(t.what, t.wounds) for t in plan if t.due == day(5) and not t.rule] == [
        ("ring the insurer", ("A",))
    ]
    assert main([*run, "not-applicable", "task"]) == 0
    assert "ring the insurer" not in {t.what for t in desk.file(ref).plan}


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        (["done", "no-such-task"], "TASK: 'no-such-task' is no open task; one of: "),
        (["moved", "drain-out"], "--to: moved to which day"),
        (["moved", "drain-out", "--to", "tomorrow"], "--to: 'tomorrow' is not a date"),
        (["done", "drain-out", "--to", "2025-06-05"], "--to: this goes with: moved"),
        (["add", "ring", "--due", "2025-06-05", "--wound", "Z"], "--wound: no wound 'Z': A"),
        (["add", "ring"], "--due: on which day"),
        (["add", "--due", "2025-06-05"], "TASK: what is to be done"),
    ],
)
def test_a_wrong_word_about_a_task_is_refused_at_its_argument(store, ref, capsys, typed, says):
    assert main(["--data", str(store), "--now", "2025-06-02T12:00:00Z", "plan", ref, *typed]) == 1
    assert says in capsys.readouterr().err


def test_flags_are_answered_and_the_plan_read_by_command(desk, clock, store, ref, capsys):
    undermined(desk, clock, ref, 6, 12)
    run = ["--data", str(store), "--now", "2025-06-08T12:00:00Z"]
    answer = ["flags", "answer", ref, "undermining", "wait", "--wound", "A"]
    assert main([*run, *answer]) == 1
    assert "says why" in capsys.readouterr().err
    assert main([*run, *answer, "--reason", "filling"]) == 0
    capsys.readouterr()
    assert main([*run, "flags", "list", ref, "--json"]) == 0
    (flag,) = json.loads(capsys.readouterr().out)
    assert flag["answer"] == {"answer": "wait", "reason": "filling"}
    assert flag["source"]
    assert main([*run, "plan", ref, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["plan"]
    assert document["changes"]
    assert document["withdrawn"] == []
