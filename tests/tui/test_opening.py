"""The first screen before the store is open: what it shows, where keys go, who is refused."""

from __future__ import annotations

import asyncio
import datetime as dt
import threading

import pytest
from conftest import NOW
from keys import Keys
from shots import screen_text

from fieldnotes.casework import rounds
from fieldnotes.cli.app import Founder
from fieldnotes.cli.seat import Seat
from fieldnotes.domain.errors import StoreLockedError
from fieldnotes.storage.casebook import create_store
from fieldnotes.storage.place import keep_glance, kept_glance
from fieldnotes.tui import glance
from fieldnotes.tui.app import FieldnotesApp, Opening

SIZE = (120, 40)


def start(folder, script, *, seat=None, begun=None):
    """Open the app as the command does, the store when `begun` is set; gives the app."""
    seat = seat or Seat(lambda: NOW)
    founder = Founder(folder, lambda: NOW, seat)

    def opening():
        if begun is not None:
            begun.wait(20)
        return founder.open()

    app = FieldnotesApp(None, None, founder, seat, Opening(opening, kept_glance(folder), NOW))

    async def go():
        async with app.run_test(size=SIZE) as pilot:
            await script(Keys(app, pilot))

    try:
        asyncio.run(go())
    finally:
        seat.leave()
    return app


async def settled(keys):
    for _ in range(4):  # the store, what is due, the board, the flags
        await keys.settle()


def test_what_was_seen_last_stands_at_once_marked_and_keys_wait_for_the_store(store):
    async def look(keys):
        await settled(keys)
        assert "as of" not in screen_text(keys.app)

    start(store, look)
    begun = threading.Event()

    async def type_early(keys):
        await keys.pilot.pause()
        shown = screen_text(keys.app)
        assert "as of 10:30" in shown
        assert "Arrive" in shown
        assert "To load" in shown
        board = [line for line in shown.splitlines() if ":" in line and "as of" not in line]
        keys.app.simulate_key("n")
        for letter in "linden":
            keys.app.simulate_key(letter)
        await keys.pilot.pause()
        assert keys.app.screen.NAME == "today"
        begun.set()
        await settled(keys)
        await settled(keys)
        assert keys.app.screen.NAME == "form"
        assert keys.app.focused.value == "linden"
        await keys.press("escape")
        await settled(keys)
        after = screen_text(keys.app)
        assert "as of" not in after
        assert all(line in after for line in board)  # nothing has moved

    start(store, type_early, begun=begun)


def test_a_store_that_is_held_elsewhere_ends_the_app_and_names_the_holder(store):
    other = Seat(lambda: NOW)
    other.take(store)

    async def wait(keys):
        while keys.app.fault is None:
            await keys.pilot.pause(0.02)

    app = start(store, wait)
    other.leave()
    assert isinstance(app.fault, StoreLockedError)
    assert "process" in str(app.fault)
    assert app.return_code == app.fault.exit_code == 1


def test_a_store_without_a_practice_leads_to_the_three_ways_on(tmp_path):
    create_store(tmp_path / "new")

    async def see(keys):
        await keys.settle()
        await keys.settle()
        assert "Set up your practice" in screen_text(keys.app)
        await keys.press("s")
        assert keys.app.screen.NAME == "assistant"

    start(tmp_path / "new", see)


PICTURE = (
    b'{"version": 1, "made": "2026-03-03T10:30+00:00", "size": [120, 40],'
    b' "places": [["1", 52, -3]],'
    b' "words": {"#next": ["Next", [[0, 4, "bold"]]], "#flags": ["", []],'
    b' "#load .panel-text": ["", []]},'
    b' "lists": {"#round": [["row", [], "stop:p1"]], "#overdue": [], "#stop": []}}'
)


def test_a_picture_of_another_day_or_size_or_one_that_is_broken_is_not_shown():
    seen = glance.read(PICTURE, SIZE, NOW)
    assert seen is not None
    assert seen.lists["#round"][0].key == "stop:p1"
    assert seen.words["#next"].plain == "Next"
    assert glance.read(PICTURE, (80, 24), NOW) is None
    assert glance.read(PICTURE, SIZE, NOW + dt.timedelta(days=1)) is None


@pytest.mark.parametrize(
    "data",
    [b"", b"[]", b"{}", b"\xff", PICTURE[:-9], PICTURE.replace(b"52", b'"x"'),
     PICTURE.replace(b'[0, 4, "bold"]', b"7"), PICTURE.replace(b'"#next"', b'"#other"')],
)  # fmt: skip
def test_a_broken_picture_is_none(data):
    assert glance.read(data, SIZE, NOW) is None


def test_a_picture_that_cannot_be_kept_harms_nothing(tmp_path):
    (tmp_path / "index").write_text("a file where the folder should be")
    keep_glance(tmp_path, PICTURE)
    assert kept_glance(tmp_path) == b""


def test_of_a_locked_store_no_picture_is_kept(tmp_path):
    (tmp_path / "keys.json").write_text("{}")
    keep_glance(tmp_path, PICTURE)
    assert not (tmp_path / "index").exists()


def test_keys_do_not_wait_for_the_route_when_it_takes_long(store, monkeypatch):
    planned = threading.Event()
    board = rounds.day_board

    def slow(*known):
        planned.wait(20)
        return board(*known)

    monkeypatch.setattr(rounds, "day_board", slow)

    async def go_on(keys):
        keys.app.simulate_key("2")
        for _ in range(400):
            await keys.pilot.pause(0.02)
            if keys.app.screen.NAME == "cases":
                break
        assert keys.app.screen.NAME == "cases"
        planned.set()

    start(store, go_on)
