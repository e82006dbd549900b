"""Walks screens of a store and tells where our own work held the event loop.

As a program it walks them all in a fresh interpreter, where nothing was imported by another test.
"""

from __future__ import annotations

import asyncio
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from conftest import NOW
from keys import Keys
from loop_watch import watching
from walk import MAIN, REST

from fieldnotes.cli.app import Founder
from fieldnotes.cli.seat import Seat
from fieldnotes.storage.place import kept_glance
from fieldnotes.tui.app import FieldnotesApp, Opening

if TYPE_CHECKING:
    from collections.abc import Iterable

MOST_MS = 30


def held(store: Path, steps: Iterable[tuple[str, str]]) -> list[tuple[str, float, str]]:
    """Give each step in which we held the loop too long, with the processor time and the place."""
    seat = Seat(lambda: NOW)
    founder = Founder(store, lambda: NOW, seat)
    opening = Opening(founder.open, kept_glance(store), NOW)
    app, found = FieldnotesApp(None, None, founder, seat, opening), []

    async def go() -> None:
        async with app.run_test(size=(120, 40)) as pilot:
            keys = Keys(app, pilot)
            for _ in range(4):
                await keys.settle()
            for name, presses in (("start", ""), *steps):
                await keys.press(*presses.split())
                found.extend((name, h.ours_ms, h.where) for h in watch.holds)
                watch.holds.clear()

    with watching(MOST_MS) as watch:
        asyncio.run(go())
    seat.leave()
    return [hold for hold in found if hold[1] > MOST_MS]


if __name__ == "__main__":
    print(json.dumps(held(Path(sys.argv[1]), (*MAIN, *REST))))
