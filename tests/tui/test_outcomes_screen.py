"""The outcomes screen: a block for each group, regrouped by one key."""

from __future__ import annotations

import asyncio

import pytest
from keys import Keys
from shots import screen_text


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_outcomes_are_one_key_away_and_another_key_groups_them_anew(app, size, monkeypatch):
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "outbox")

    async def go():
        async with app.run_test(size=size) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("5")
            shown = screen_text(app)
            assert "distal limb" in shown
            assert "place on the body" in shown
            await keys.press("b")
            assert "second intention" in screen_text(app)
            await keys.press("b")
            assert "no bandage" in screen_text(app)

    asyncio.run(go())
