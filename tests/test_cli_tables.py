"""`route --table` and `rounds --table`: every key of the contract, and every refusal in words."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from fieldnotes.cli.main import main

if TYPE_CHECKING:
    from pathlib import Path

# Minutes from the start of the day: A (1) opens 60-120, B (2) and C (3) at any time.
DAY: dict[str, Any] = {
    "travel": [[0, 10, 20, 30], [10, 0, 12.5, 25], [20, 12.5, 0, 14], [30, 25, 14, 0]],
    "service": [0, 30, 20, 20],
    "windows": [[0, 600], [60, 120], [0, 600], [0, 600]],
    "depot": 0,
    "minimise": "travel",
}
FORTNIGHT: dict[str, Any] = {
    "days": 2,
    "day_end": 100,
    "travel": [[0, 10, 20], [10, 0, 5.5], [20, 5.5, 0]],
    "service": [0, 10, 10],
    "windows": [[0, 100]] * 3,
    "allowed_days": [[], [0], [0, 1]],
    "day_penalty": [{}, {"0": 0}, {"0": 0, "1": 40}],
}


class Answer:
    """What a table command printed and how it ended."""

    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.err = code, out, err

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@pytest.fixture
def solve(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    def call(command: str, table: Any, *words: str) -> Answer:
        path = tmp_path / "table.json"
        path.write_text(table if isinstance(table, str) else json.dumps(table))
        capsys.readouterr()
        code = main([command, "--table", str(path), *(words or ("--json",))])
        return Answer(code, *capsys.readouterr())

    return call


def test_a_plain_day_gives_its_order_in_unrounded_numbers(solve: Any) -> None:
    answer = solve("route", DAY)
    assert answer.code == 0
    assert answer.json["order"] in ([0, 1, 2, 3, 0], [0, 3, 2, 1, 0])
    assert answer.json["travel"] == pytest.approx(10 + 12.5 + 14 + 30)
    assert (answer.json["late"], answer.json["optimal"]) == ([], True)
    assert answer.json["served"] == [1, 2, 3]
    assert answer.json["skipped"] == []
    assert answer.json["cost"] == answer.json["travel"]


def test_the_earliest_finish_is_not_the_shortest_drive(solve: Any) -> None:
    shortest, soonest = solve("route", DAY), solve("route", DAY | {"minimise": "finish"})
    # C then B then A: 30 + 20 + 14 + 20 + 12.5 = 96.5, 30 min at A, 10 min home.
    assert soonest.json["finish"] == pytest.approx(136.5)
    assert soonest.json["finish"] <= shortest.json["finish"]


def test_a_short_day_leaves_out_what_may_be_skipped(solve: Any) -> None:
    answer = solve("route", DAY | {"day_end": 125, "skip": [None, None, 50, 8.25]}).json
    assert answer["order"] == [0, 2, 1, 0]
    assert [row["stop"] for row in answer["skipped"]] == [3]
    assert answer["skipped"][0]["why"]
    assert answer["cost"] == pytest.approx(answer["travel"] + 8.25)


def test_what_must_come_last_comes_last(solve: Any) -> None:
    order = solve("route", DAY | {"last": [2]}).json["order"]
    assert order[-2] == 2


def test_locks_hold_the_first_and_the_final_place(solve: Any) -> None:
    order = solve("route", DAY | {"locks": {"first": 2, "final": 1}}).json["order"]
    assert order == [0, 2, 3, 1, 0]
    assert solve("route", DAY | {"locks": {"final": 2}}).json["order"][-2] == 2


def test_a_break_takes_its_time_at_a_stop(solve: Any) -> None:
    without = solve("route", DAY | {"minimise": "finish"}).json["finish"]
    pause = {"earliest": 100, "latest": 130, "minutes": 45}
    with_it = solve("route", DAY | {"minimise": "finish", "break": pause}).json
    assert with_it["finish"] >= without + 45 - 30
    assert with_it["optimal"]


@pytest.mark.parametrize("minimise", ["travel", "finish"])
def test_no_stop_and_one_stop_are_days_too(solve: Any, minimise: str) -> None:
    none = {"travel": [[0]], "service": [0], "windows": [[0, 9]], "minimise": minimise}
    assert solve("route", none).json["order"] == [0, 0]
    one = {"travel": [[0, 7], [8, 0]], "service": [0, 5], "windows": [[0, 99], [20, 30]]}
    answer = solve("route", one | {"minimise": minimise}).json
    assert (answer["order"], answer["travel"], answer["finish"]) == ([0, 1, 0], 15, 33)


def test_an_impossible_day_names_the_stops_that_clash(solve: Any) -> None:
    clash = DAY | {"windows": [[0, 600], [60, 62], [0, 600], [60, 62]]}
    answer = solve("route", clash)
    assert answer.code == 1
    assert answer.json["infeasible"]["stops"] == [1, 3]
    assert answer.json["infeasible"]["why"] in answer.err


@pytest.mark.parametrize(
    "change",
    [
        {"locks": {"first": 1, "final": 1}},
        {"last": [1], "locks": {"first": 1}},
        {"day_end": 1},
        {"break": {"earliest": 590, "latest": 595, "minutes": 60}},
        {"windows": [[500, 600], [60, 120], [0, 600], [0, 600]]},
    ],
    ids=lambda change: next(iter(change)),
)
def test_a_contradiction_is_an_answer_not_a_crash(solve: Any, change: dict[str, Any]) -> None:
    answer = solve("route", DAY | change)
    assert answer.code == 1
    assert set(answer.json["infeasible"]) >= {"why", "stops"}


REFUSED_DAYS = [
    ({"travel": [[0, 1], [1, 0, 1]]}, "travel[1]"),
    ({"travel": [[0, 1, 2]] * 2}, "travel[0]"),
    ({"travel": []}, "travel"),
    ({"travel": [[0, 1, 1, 1], [1, 0, -1, 1], [1, 1, 0, 1], [1, 1, 1, 0]]}, "travel[1][2]"),
    ({"travel": [[0, 1, 1, 1], [1, 0, 1, 1], [1, 1, 0, "x"], [1, 1, 1, 0]]}, "travel[2][3]"),
    ({"service": [0, 1]}, "service"),
    ({"service": [0, 1, True, 1]}, "service[2]"),
    ({"windows": [[0, 1]]}, "windows"),
    ({"windows": [[0, 9], [5, 4], [0, 9], [0, 9]]}, "windows[1]"),
    ({"windows": [[0, 9], [5], [0, 9], [0, 9]]}, "windows[1]"),
    ({"depot": 1}, "depot"),
    ({"minimise": "joy"}, "minimise"),
    ({"day_end": -1}, "day_end"),
    ({"skip": [None]}, "skip"),
    ({"skip": [None, None, -3, None]}, "skip[2]"),
    ({"last": [4]}, "last[0]"),
    ({"last": [1.5]}, "last[0]"),
    ({"last": 0}, "last"),
    ({"break": {"earliest": 1, "latest": 2}}, "minutes"),
    ({"break": {"earliest": 3, "latest": 2, "minutes": 1}}, "break"),
    ({"break": []}, "break"),
    ({"locks": {"first": 0}}, "locks.first"),
    ({"locks": {"middle": 1}}, "middle"),
    ({"skips": []}, "skips"),
]


@pytest.mark.parametrize(("change", "place"), REFUSED_DAYS)
def test_a_faulty_day_is_refused_naming_the_place(
    solve: Any, change: dict[str, Any], place: str
) -> None:
    answer = solve("route", DAY | change)
    assert (answer.code, answer.out) == (1, "")
    assert place in answer.err
    assert "Traceback" not in answer.err


@pytest.mark.parametrize("command", ["route", "rounds"])
@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("not JSON", "table"),
        ("", "table"),
        ("[]", "table"),
        ('{"travel": [[0, 1], [NaN, 0]]}', "travel[1][0]"),
        ('{"break": {"earliest": -Infinity}}', "break.earliest"),
        ('{"travel": [[0]], "travel": [[0]]}', "travel"),
        ("[" * 100_000, "table"),
        ('{"days": ' + "9" * 5000 + "}", "table"),
        ('{"travel": [[0]], "service": [0]}', "missing"),
    ],
    ids=range(9),
)  # fmt: skip
def test_a_file_that_is_no_table_is_refused(
    solve: Any, command: str, text: str, place: str
) -> None:
    answer = solve(command, text)
    assert (answer.code, answer.out) == (1, "")
    assert place in answer.err
    assert "Traceback" not in answer.err


def test_a_number_beyond_all_numbers_is_refused(solve: Any) -> None:
    answer = solve("route", '{"travel": [[1e999]], "service": [0], "windows": [[0, 1]]}')
    assert answer.code == 1
    assert "travel[0][0]" in answer.err


@pytest.mark.parametrize("command", ["route", "rounds"])
def test_a_missing_file_and_one_that_is_not_text_are_refused(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    binary = tmp_path / "binary"
    binary.write_bytes(b"\xff\xfe\x00")
    for path in (tmp_path / "nowhere.json", binary, tmp_path):
        assert main([command, "--table", str(path), "--json"]) == 1
        assert "--table" in capsys.readouterr().err


def test_rounds_choose_day_and_order_and_bound_the_cost(solve: Any) -> None:
    answer = solve("rounds", FORTNIGHT)
    assert answer.code == 0
    assert sorted(answer.json["days"][0]) == [1, 2]
    assert answer.json["days"][1] == []
    assert answer.json["travel"] == answer.json["cost"] == pytest.approx(35.5)
    assert 0 < answer.json["bound"] <= answer.json["cost"]
    gap = 100 * (answer.json["cost"] - answer.json["bound"]) / answer.json["cost"]
    assert answer.json["gap_percent"] == pytest.approx(gap)
    assert answer.json["unplaced"] == []


def test_days_count_from_nought(solve: Any) -> None:
    only_second = FORTNIGHT | {"allowed_days": [[], [0], [1]]}
    answer = solve("rounds", only_second).json
    assert answer["days"] == [[1], [2]]
    assert (answer["travel"], answer["cost"]) == (60, 100)
    refused = solve("rounds", FORTNIGHT | {"allowed_days": [[], [0], [2]]})
    assert refused.code == 1
    assert "allowed_days[2][0]" in refused.err


def test_what_no_day_can_hold_is_unplaced_and_the_bound_still_below_the_cost(solve: Any) -> None:
    answer = solve("rounds", FORTNIGHT | {"allowed_days": [[], [0], []]}).json
    assert (answer["unplaced"], answer["cost"]) == ([2], 20)
    assert answer["bound"] <= answer["cost"]
    full = solve("rounds", FORTNIGHT | {"day_end": 45, "allowed_days": [[], [0], [0]]}).json
    assert len(full["unplaced"]) == 1
    assert full["bound"] <= full["cost"]


def test_a_fortnight_may_be_one_day_or_hold_no_visit(solve: Any) -> None:
    one = FORTNIGHT | {"days": 1, "allowed_days": [[], [0], [0]], "day_penalty": [{}, {}, {}]}
    assert [sorted(day) for day in solve("rounds", one).json["days"]] == [[1, 2]]
    empty = {"days": 1, "day_end": 9, "travel": [[0]], "service": [0], "windows": [[0, 9]]}
    answer = solve("rounds", empty | {"allowed_days": [[]]}).json
    assert (answer["days"], answer["cost"], answer["bound"]) == ([[]], 0, 0)


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"days": 0}, "days"),
        ({"days": 1.5}, "days"),
        ({"day_end": None}, "day_end"),
        ({"travel": [[0, 1, 2], [1, 0], [2, 1, 0]]}, "travel[1]"),
        ({"service": [0, -1, 1]}, "service[1]"),
        ({"windows": [[0, 9]] * 2}, "windows"),
        ({"allowed_days": [[], [0]]}, "allowed_days"),
        ({"allowed_days": [[], 0, [0]]}, "allowed_days[1]"),
        ({"allowed_days": [[], [-1], [0]]}, "allowed_days[1][0]"),
        ({"day_penalty": [{}, [], {}]}, "day_penalty[1]"),
        ({"day_penalty": [{}, {"7": 1}, {}]}, "day_penalty[1].7"),
        ({"day_penalty": [{}, {"0": -1}, {}]}, "day_penalty[1].0"),
        ({"horizon": 3}, "horizon"),
    ],
)
def test_a_faulty_fortnight_is_refused_naming_the_place(
    solve: Any, change: dict[str, Any], place: str
) -> None:
    answer = solve("rounds", FORTNIGHT | change)
    assert (answer.code, answer.out) == (1, "")
    assert place in answer.err


def test_the_plain_text_says_the_same(solve: Any) -> None:
    day = solve("route", DAY, "--format", "text")
    assert day.code == 0
    assert "best possible" in day.out
    assert "66.5" in day.out
    days = solve("rounds", FORTNIGHT, "--days", "5")
    assert "unplaced: none" in days.out
