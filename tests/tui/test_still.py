"""Nothing moves by itself: scrolling jumps, and a screen left alone stays as it is."""

from __future__ import annotations

import asyncio

import pytest
from keys import Keys
from shots import screen_text
from textual._animator import SimpleAnimation
from walk import MAIN, REST

from fieldnotes.cli.seat import Seat
from fieldnotes.tui.app import FieldnotesApp
from tests.tui.conftest import NOW

A_WHILE = 0.3


@pytest.fixture
def gliding(monkeypatch) -> list[str]:
    """What an animation left on its way to its end, instead of going there at once."""
    seen: list[str] = []
    step = SimpleAnimation.__call__

    def spied(animation, *at) -> bool:
        there = step(animation, *at)
        if not there:
            seen.append(animation.attribute)
        return there

    monkeypatch.setattr(SimpleAnimation, "__call__", spied)
    return seen


async def comes_to_rest(app, pilot) -> bool:
    """Say whether a screen soon stays as it is; a draft may still be told of, or a map's facts."""
    for _ in range(5):
        before = screen_text(app)
        await pilot.pause(A_WHILE)
        if screen_text(app) == before:
            return True
    return False


def walked(store, steps, level=""):
    """Give the screens that changed, or have something that refreshes itself, while left alone."""
    seat = Seat(lambda: NOW)
    app = FieldnotesApp(*seat.take(store), None, seat)
    moved = []

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            app.animation_level = level or app.animation_level
            keys = Keys(app, pilot)
            for _ in range(3):
                await keys.settle()
            for name, presses in steps:
                await keys.press(*presses.split())
                if not await comes_to_rest(app, pilot):
                    moved.append(name)
                moved.extend(f"{name}: {w}" for w in app.screen.walk_children() if w.auto_refresh)

    asyncio.run(go())
    seat.leave()
    return moved


def test_no_main_screen_moves_by_itself(store, gliding):
    assert not walked(store, (*MAIN, ("scrolled", "escape p pagedown end home")))
    assert not gliding


@pytest.mark.long
def test_no_screen_moves_by_itself(store, gliding):
    assert not walked(store, (*MAIN, *REST))
    assert not gliding


def test_scrolling_that_glides_is_found(store, gliding):
    walked(store, (*MAIN[:1], ("help", "question_mark pagedown end home")), level="full")
    assert gliding
