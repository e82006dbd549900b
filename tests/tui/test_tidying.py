"""Garbage is looked for once in a stretch of quiet, never between the keys."""

from __future__ import annotations

import asyncio
import gc
import weakref

import pytest
from conftest import NOW
from keys import Keys

from fieldnotes.cli.seat import Seat
from fieldnotes.tui import tidying
from fieldnotes.tui.app import FieldnotesApp


class Ring:
    """What only a search finds: it holds itself."""

    def __init__(self) -> None:
        self.itself = self


@pytest.fixture
def unfrozen():
    yield
    gc.unfreeze()


def test_what_was_set_aside_and_is_garbage_now_is_freed_and_the_rest_set_aside(unfrozen):
    ring, kept = Ring(), Ring()
    gone = weakref.ref(ring)
    gc.freeze()
    del ring
    gc.collect()
    assert gone() is not None  # set aside: no search of the interpreter's own comes here
    tidying.tidy()
    assert gone() is None
    assert gc.get_freeze_count() > 1000
    assert all(thing is not kept for thing in gc.get_objects())


def test_it_searches_once_after_some_quiet_and_again_after_the_next_keys(store, monkeypatch):
    searched = []
    monkeypatch.setattr(tidying, "tidy", lambda: searched.append(1))
    seat = Seat(lambda: NOW)
    app = FieldnotesApp(*seat.take(store), None, seat)

    async def looked(keys):
        app.tidying.if_quiet()
        await keys.settle()
        return len(searched)

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("down")
            assert await looked(keys) == 0
            monkeypatch.setattr(tidying, "QUIET_S", 0.0)
            assert await looked(keys) == 1
            assert await looked(keys) == 1
            await keys.press("up")
            assert await looked(keys) == 2

    asyncio.run(go())
    seat.leave()
