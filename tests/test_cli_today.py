"""The first screen as plain text: nothing of it is missing, one fact a line, nothing drawn."""

from __future__ import annotations

import datetime as dt
import json

import pytest

from fieldnotes.cli.demo import make_demo
from fieldnotes.cli.main import main
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.surroundings import warnings

NOW = dt.datetime(2026, 3, 3, 9, 0, tzinfo=dt.UTC)


@pytest.fixture(scope="module")
def said(tmp_path_factory):
    """What a command says over the sample practice."""
    folder = tmp_path_factory.mktemp("today") / "store"
    make_demo(folder, NOW)
    return lambda *words: main(["--data", str(folder), "--now", NOW.isoformat(), *words])


def test_the_text_tells_what_the_first_screen_does(said, capsys):
    assert said("today", "--json") == 0
    day = json.loads(capsys.readouterr().out)
    assert said("today") == 0
    text = capsys.readouterr().out
    coming = next(s for s in day["stops"] if s["leave"] > day["now"])
    assert day["next"]["premises"] == coming["premises"]
    leave = dt.datetime.fromisoformat(day["next"]["set_off"])
    assert f"next: {coming['premises']}, leave {leave:%H:%M}" in text
    for stop in (*day["stops"], *day["unreached"], *day["skipped"]):
        assert stop["premises"] in text
    for line in day["overdue"]:
        assert line["what"] in text
        assert line["reason"] in text
    for flag in day["flags"]:
        assert flag["why"] in text
    for load in day["load"]:
        assert load["item"] in text
    assert day["overdue"]
    assert day["flags"]
    assert text.endswith("outbox: 0 waiting\nno backup yet\n")


def test_lists_are_plain_words_without_colour_or_drawn_lines(said, capsys):
    for words in (["today"], ["due"], ["case", "list"], ["flags", "list"]):
        assert said(*words) == 0
        text = capsys.readouterr().out
        assert len(text.splitlines()) > 5
        assert "\x1b" not in text
        assert not [c for c in text if 0x2500 <= ord(c) <= 0x28FF], words  # boxes, blocks, braille


def test_the_flags_of_all_open_cases_are_those_of_each(said, capsys):
    assert said("flags", "list", "--json") == 0
    together = json.loads(capsys.readouterr().out)
    assert {f["urgency"] for f in together} == {"same day", "next visit"}
    one = together[0]
    assert said("flags", "list", one["case"], "--json") == 0
    alone = json.loads(capsys.readouterr().out)
    assert [f["why"] for f in alone if not f["answer"]] == [
        f["why"] for f in together if f["case"] == one["case"]
    ]


def test_a_demo_made_just_after_midnight_finds_no_fault_with_the_clock(tmp_path):
    now = dt.datetime(2026, 3, 3, 0, 5, tzinfo=dt.UTC)
    make_demo(tmp_path / "store", now)
    assert not [w for w in warnings(Casebook(tmp_path / "store"), now) if "clock" in w]
