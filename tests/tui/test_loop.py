"""Our own code never works on the event loop for long: a key is heard within two frames."""

from __future__ import annotations

import asyncio
import time

from conftest import NOW
from keys import Keys
from loop_watch import watching

from fieldnotes.cli.app import Founder
from fieldnotes.cli.seat import Seat
from fieldnotes.storage.place import kept_glance
from fieldnotes.tui.app import FieldnotesApp, Opening

MOST_MS = 30
SESSION = (
    ("down", "down"), ("l",), ("l",), ("x",), ("escape",), ("2",), ("a",), ("pagedown",),
    ("slash", "b", "r"), ("escape",), ("3",), ("7",), ("0",), ("1",), ("n", "l", "i"), ("f3",),
    ("right", "up"), ("escape",), ("f4",), ("escape",),
)  # fmt: skip


def test_no_stretch_of_our_own_work_holds_the_loop(store):
    seat = Seat(lambda: NOW)
    founder = Founder(store, lambda: NOW, seat)
    opening = Opening(founder.open, kept_glance(store), NOW)
    app = FieldnotesApp(None, None, founder, seat, opening)

    async def go():
        async with app.run_test(size=(120, 40)) as pilot:
            keys = Keys(app, pilot)
            for _ in range(4):
                await keys.settle()
            for step in SESSION:
                await keys.press(*step)

    with watching(MOST_MS) as watch:
        asyncio.run(go())
    seat.leave()
    assert watch.worst.ours_ms <= MOST_MS, watch.worst


def test_the_watch_sees_a_stretch_that_is_ours(monkeypatch):
    from fieldnotes.domain import text

    def slow(words):
        until = time.thread_time() + 0.08
        while time.thread_time() < until:
            pass
        return words

    monkeypatch.setattr(text, "_REMOVED", type("", (), {"sub": lambda _, __, words: slow(words)})())

    async def go():
        text.clean("x")

    with watching(MOST_MS) as watch:
        asyncio.run(go())
    assert watch.worst.ours_ms > MOST_MS
    assert "domain/text.py" in watch.worst.where


def test_the_watch_does_not_blame_us_for_others():
    async def go():
        until = time.thread_time() + 0.08
        while time.thread_time() < until:
            pass

    with watching(MOST_MS) as watch:
        asyncio.run(go())
    assert watch.holds
    assert watch.worst.ours_ms == 0
