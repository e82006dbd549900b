"""The line of keys at the foot: whole keys only, help always there, a click presses one."""

from __future__ import annotations

import asyncio

import pytest
from conftest import NOW
from keys import Keys
from shots import screen_text

from fieldnotes.cli.seat import Seat
from fieldnotes.tui.app import FieldnotesApp
from fieldnotes.tui.widgets.key_line import Hint, KeyLine, fitting

OPEN, SAVE, HELP = (
    Hint(k, k, does, does) for k, does in (("o", "Open"), ("s", "Save"), ("?", "Help"))
)
LONG = Hint("x", "x", "What takes more room than there is", "long")


def test_keys_are_shown_whole_or_not_at_all_and_help_always():
    assert fitting([OPEN, LONG], [HELP], [SAVE], 22) == [OPEN, SAVE, HELP]
    assert fitting([OPEN, LONG], [HELP], [SAVE], 60) == [OPEN, LONG, SAVE, HELP]
    assert fitting([OPEN, SAVE], [HELP], [], 15) == [OPEN, HELP]
    assert fitting([OPEN], [HELP], [], 3) == [HELP]


def foot(app) -> str:
    return screen_text(app).split("\n")[-1]


@pytest.mark.parametrize("size", [(80, 24), (60, 24), (40, 20), (200, 60)])
def test_the_line_ends_inside_the_screen_at_any_size(store, size):
    seat = Seat(lambda: NOW)
    app = FieldnotesApp(*seat.take(store), None, seat)

    async def go():
        async with app.run_test(size=size) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            assert " ? Help" in foot(app)
            assert foot(app).rstrip().endswith("^p palette")
            await keys.press("2")
            assert " New case" in foot(app) or size[0] < 60

    asyncio.run(go())
    seat.leave()


def test_a_click_on_a_key_presses_it_and_the_keys_follow_the_focus(store):
    seat = Seat(lambda: NOW)
    app = FieldnotesApp(*seat.take(store), None, seat)

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            at = foot(app).index("n New case")
            await pilot.click(KeyLine, offset=(at + 3, 0))
            await keys.settle()
            assert app.screen.NAME == "form"
            assert "^s Save" in foot(app)
            await pilot.click(KeyLine, offset=(79, 0))
            await keys.settle()
            assert type(app.screen).__name__ == "CommandPalette"

    asyncio.run(go())
    seat.leave()
