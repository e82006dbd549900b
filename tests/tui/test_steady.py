"""Memory is steady over a long day: what is closed is let go."""

from __future__ import annotations

import asyncio
import gc
from dataclasses import dataclass
from itertools import cycle, islice
from pathlib import Path

import pytest
from conftest import NOW
from keys import Keys
from textual.screen import Screen
from textual.widget import Widget

from fieldnotes.cli.seat import Seat
from fieldnotes.tui.app import FieldnotesApp

pytestmark = pytest.mark.long
WARM, ALL = 500, 2000
PAGE_BYTES = 4096
PRESSES = (
    "1 x escape l escape m escape 2 slash ctrl+u b r a m enter enter v pagedown f4 escape"
    " f7 pagedown escape E escape h escape d escape i escape t escape p p escape"
    " n pagedown f3 right escape escape 3 w 4 5 b 6 n escape 7 down d escape 0 down enter escape"
    " 8 i escape U 1 S escape d escape question_mark escape ctrl+r pagedown escape"
)
LAP = PRESSES.split()


@dataclass(frozen=True)
class Living:
    """What lives in the process after all garbage is gone."""

    screens: int
    widgets: int
    megabytes: float


def living() -> Living:
    gc.unfreeze()  # what the app set aside is counted too
    gc.collect()
    kinds = [type(thing) for thing in gc.get_objects()]
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return Living(
        sum(issubclass(kind, Screen) for kind in kinds),
        sum(issubclass(kind, Widget) for kind in kinds),
        pages * PAGE_BYTES / 1e6,
    )


def counted(store, at: tuple[int, ...]) -> list[Living]:
    """Press key after key, lap after lap; gives what lives after so many of them."""
    seat = Seat(lambda: NOW)
    app = FieldnotesApp(*seat.take(store), None, seat)
    found = []

    async def go():
        async with app.run_test(size=(120, 40)) as pilot:
            keys = Keys(app, pilot)
            for number, key in enumerate(islice(cycle(LAP), max(at)), 1):
                await keys.press(key)
                if number in at:
                    await keys.press("1")
                    found.append(living())

    asyncio.run(go())
    seat.leave()
    return found


@pytest.mark.skipif(not Path("/proc/self/statm").is_file(), reason="memory is read from Linux")
def test_two_thousand_actions_leave_no_more_behind_than_five_hundred(store):
    laps = WARM // len(LAP), ALL // len(LAP)
    warm, after = counted(store, tuple(n * len(LAP) for n in laps))
    print(warm, after)
    assert after.screens <= warm.screens
    assert after.widgets <= warm.widgets * 1.02
    assert after.megabytes <= warm.megabytes * 1.1


def test_screens_that_are_held_are_seen(store, monkeypatch):
    held, push = [], FieldnotesApp.push_screen

    def kept(app, screen, *more, **named):
        held.append(screen)
        return push(app, screen, *more, **named)

    monkeypatch.setattr(FieldnotesApp, "push_screen", kept)
    first, second = counted(store, (len(LAP), 2 * len(LAP)))
    assert second.screens > first.screens + 5
