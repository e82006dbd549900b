"""The pages of a first run as they were last judged by eye, at both sizes."""

from __future__ import annotations

import asyncio

import pytest
from conftest import NOW
from keys import Keys
from test_assistant import FILL
from test_screens import NARROW, WIDE, _pictured, check

from fieldnotes.cli.app import Founder
from fieldnotes.cli.seat import Seat
from fieldnotes.tui.app import FieldnotesApp

NAMES = ("practice", "people", "base", "mail", "import", "ready")


async def _shown(keys, seen, faint, name):
    for size in (NARROW, WIDE):
        await keys.pilot.resize_terminal(*size)
        await keys.settle()
        seen[f"first-run-{name}", size] = await _pictured(keys.app, keys.pilot, name, faint)
    await keys.pilot.resize_terminal(*NARROW)
    await keys.settle()


@pytest.mark.long
def test_every_page_of_a_first_run_is_as_last_judged(tmp_path, monkeypatch):
    monkeypatch.setenv("TZ", "Europe/Dublin")
    seat = Seat(lambda: NOW)
    app = FieldnotesApp(None, None, Founder(tmp_path / "new", lambda: NOW, seat), seat)
    seen, faint = {}, []

    async def go():
        async with app.run_test(size=NARROW) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await _shown(keys, seen, faint, "empty")
            await keys.press("s")
            for name, fill in zip(NAMES, FILL, strict=True):
                await _shown(keys, seen, faint, name)
                if name == "practice":
                    await keys.press("pagedown")
                    await _shown(keys, seen, faint, "wrong")
                await fill(keys)
                if name in {"people", "base"}:
                    await keys.press("pageup")
                    await _shown(keys, seen, faint, f"{name}-filled")
                    await keys.press("pagedown")

    asyncio.run(go())
    seat.leave()
    check(seen, faint)
