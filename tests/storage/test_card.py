"""What is set for this computer alone survives whoever else sets something at that moment."""

from __future__ import annotations

import json
import os
import time

import pytest
from filelock import FileLock

from fieldnotes.domain.errors import StoreError
from fieldnotes.storage import card
from fieldnotes.storage.backup import back_up, contents
from fieldnotes.storage.card import device_of, set_here, setting_here
from tests.storage.conftest import NOW
from tests.storage.test_durability import Writer

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs processes of its own")

SETTINGS, WRITERS = 25, 3


def set_many(say, folder, mine):
    """Set one name after the other, as fast as it goes."""
    for number in range(SETTINGS):
        set_here(folder, f"{mine}-{number}", number)
    say(device_of(folder))


def test_no_process_loses_what_another_sets_and_all_agree_on_the_computers_name(tmp_path):
    writers = [Writer(set_many, tmp_path, f"w{n}") for n in range(WRITERS)]
    said = [writer.said() for writer in writers]
    assert [code for _, code in said] == [0] * WRITERS
    assert {name for names, _ in said for name in names} == {device_of(tmp_path)}
    kept = {(n, i): setting_here(tmp_path, f"w{n}-{i}") for n in range(WRITERS)
            for i in range(SETTINGS)}  # fmt: skip
    assert [key for key, value in kept.items() if value != key[1]] == []


def test_a_setting_that_cannot_be_kept_is_told_and_the_card_stands(tmp_path, monkeypatch):
    set_here(tmp_path, "theme", "day")
    before = (tmp_path / "device.json").read_bytes()
    monkeypatch.setattr(card, "_WAIT_S", 0.05)
    with (
        FileLock(tmp_path / "device.lock"),
        pytest.raises(StoreError, match="being changed by another window"),
    ):
        set_here(tmp_path, "theme", "night")
    assert (tmp_path / "device.json").read_bytes() == before
    set_here(tmp_path, "theme", "night")
    assert setting_here(tmp_path, "theme") == "night"


def test_a_killed_process_keeps_the_card_from_nobody(tmp_path):
    def hold(say):
        with card._changing(tmp_path):
            say("held")
            time.sleep(30)

    Writer(hold).killed_after(0)
    set_here(tmp_path, "idle_min", 5)
    assert json.loads((tmp_path / "device.json").read_bytes())["idle_min"] == 5


def test_a_backup_carries_no_setting_of_this_computer(store, tmp_path):
    set_here(store, "idle_min", 5)
    back_up(store, tmp_path / "b.zip", NOW)
    names = [name for name, _ in contents(tmp_path / "b.zip")]
    assert not [name for name in names if name.startswith("device")]
