"""The practice's settings: read from text and given as text, alike in form and command."""

from __future__ import annotations

import datetime as dt
import json

import pytest

from fieldnotes.casework.desk import Casework
from fieldnotes.casework.settings import setting_named, settings, with_settings
from fieldnotes.cli.main import main
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.tui.forms.settings import SettingsForm
from tests.builders import a_practice, at
from tests.desks import Clock, known

SAMPLE = a_practice(
    working_days=(0, 2, 4), days_off=(dt.date(2026, 12, 24), dt.date(2026, 12, 25)),
    break_from=dt.time(12, 0), break_until=dt.time(13, 30), most_visits=9, retention_years=10,
)  # fmt: skip


@pytest.mark.parametrize("setting", settings(), ids=lambda s: s.key)
def test_what_a_setting_says_is_read_back_as_it_was(setting):
    assert setting.value(setting.of(SAMPLE)) == getattr(SAMPLE, setting.key)


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("name", "", "this is needed"),
        ("zone", "Mars/Base", "no time zone"),
        ("language", "xx", "not one of en, de"),
        ("zone", "../etc", "no time zone"),
        ("day_start", "25:00", "not a time"),
        ("working_days", "mon xyz", "'xyz' is not a day"),
        ("working_days", "", "at least one day"),
        ("days_off", "24.12.", "not a day"),
        ("days_off", "2026-12-31 .. 2026-12-24", "not a day or days"),
        ("base", "95, 1", "latitude"),
        ("tetanus_rule_months", "9", "not one of 6, 12"),
        ("retention_years", "3", "7 to 100"),
        ("most_visits", "2.5", "whole"),
        ("drive_min_per_km", "nan", "not within"),
    ],
)
def test_a_wrong_setting_is_refused_in_words_under_its_name(key, text, said):
    with pytest.raises(RefusedInputError, match=said) as refused:
        with_settings(SAMPLE, {key: text})
    assert refused.value.field == key


def test_days_off_are_given_as_runs():
    text = "2026-12-24 to 2026-12-26; 2027-01-02"
    practice = with_settings(SAMPLE, {"days_off": text})
    assert len(practice.days_off) == 4
    assert setting_named("days_off").of(practice) == "2026-12-24 .. 2026-12-26, 2027-01-02"


def test_an_unknown_setting_is_named():
    with pytest.raises(UnknownNameError, match="day_start"):
        setting_named("colour")


@pytest.fixture
def store(tmp_path):
    create_store(tmp_path / "store")
    known(Casework(Casebook(tmp_path / "store"), Clock(at(0, 12))))
    return tmp_path / "store"


def test_the_command_shows_sets_and_refuses(store, capsys):
    where = ["--data", str(store), "settings"]
    assert main([*where, "day_start", "8:15"]) == 0
    assert "08:15" in capsys.readouterr().out
    assert main([*where, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["day_start"] == "08:15"
    assert main([*where, "day_end", "6:00"]) == 1
    assert "day_end" in capsys.readouterr().err
    assert main([*where, "colour", "red"]) == 1


def test_the_form_checks_and_keeps_what_was_typed(store):
    desk = Casework(Casebook(store), Clock(at(0, 12)))
    form = SettingsForm(desk)
    assert form.problems({"day_start": "9:00", "day_end": "8:00"})
    assert [p.field for p in form.problems({"zone": "Nowhere"})] == ["zone"]
    form.save({"day_start": "8:15", "working_days": "mon-fri".replace("-", " ")})
    assert desk.practice().day_start == dt.time(8, 15)
    assert desk.practice().working_days == (0, 4)
