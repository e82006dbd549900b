"""Two of the four days' flows by keys: the morning, and an owner who rings on the road."""

from __future__ import annotations

import asyncio

from keys import Keys
from shots import screen_text

MORNING, CALL = 12, 15
"""The most key presses, besides free text."""


def presses_of(app, script) -> int:
    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            for _ in range(3):  # due, then the board, then the flags
                await keys.settle()
            await script(keys)
            return keys.count

    return asyncio.run(go())


def test_a_morning_takes_at_most_twelve_presses(app, desk_and_drafts, capsys):
    desk, _ = desk_and_drafts

    async def script(keys):
        assert "overdue: x" in screen_text(app)
        await keys.press("x")
        assert "d over" in screen_text(app)
        await keys.press("escape", "l")
        assert "rolls" in screen_text(app)
        await keys.press("8", "s")
        assert "leave" in screen_text(app)

    count = presses_of(app, script)
    with capsys.disabled():
        print(f"\nmorning: {count} key presses: due, load, route, set off")
    assert count <= MORNING
    assert "base" in desk.road.live().marks


def test_an_owner_who_rings_on_the_road_takes_at_most_fifteen_presses(app, desk_and_drafts, capsys):
    desk, _ = desk_and_drafts

    async def script(keys):
        await keys.press("8", "2", "slash")
        await keys.type("pim")
        await keys.press("enter", "o", "down", "down")
        await keys.free_text("hot above the bandage, lamer since last night")
        await keys.press("down", "down", "l", "ctrl+s")
        assert "saved 10:30" in screen_text(app)

    count = presses_of(app, script)
    with capsys.disabled():
        print(f"\nphone report: {count} key presses besides free text")
    assert count <= CALL
    ref = next(c.ref for c in desk.find_cases() if c.horse == "Pim")
    report = desk.case(ref).reports[-1].body
    assert (report.text[:3], report.source) == ("hot", "phone")
    assert report.signs
