"""The formulary on screen: unconfirmed drugs, confirming, and the practice's own figures."""

from __future__ import annotations

import asyncio

import pytest
from keys import Keys
from shots import screen_text


@pytest.fixture
def desk(desk_and_drafts, monkeypatch):
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "formulary")
    return desk_and_drafts[0]


def run(app, script, size=(80, 24)):
    async def go():
        async with app.run_test(size=size) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await script(keys)
            return screen_text(app)

    return asyncio.run(go())


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_one_key_confirms_a_drug_with_who_and_when_and_takes_it_back(desk, app, size):
    async def confirm(keys):
        assert "? UNCONFIRMED" in screen_text(keys.app)
        await keys.press("y")

    seen = run(app, confirm, size)
    assert "acepromazine confirmed against the label" in seen
    assert "✓ Ruth Calloway on 03 Mar 2026" in seen, seen
    assert desk.formulary.drug("acepromazine").confirmed == "Ruth Calloway on 03 Mar 2026"


def test_an_own_dose_needs_its_source_and_then_stands_first(desk, app):
    async def dose(keys):
        await keys.press("d", "i")
        await keys.type("0.02")
        await keys.press("ctrl+s")
        assert "Source: this is needed" in screen_text(keys.app), screen_text(keys.app)
        await keys.free_text("our own protocol [2026]")
        await keys.press("ctrl+s")

    seen = run(app, dose, (120, 40))
    first = desk.formulary.drug("acepromazine").regimens[0]
    assert (first.low, first.changed) == (0.02, "Ruth Calloway on 03 Mar 2026"), seen
    assert "our own protocol [2026], CHANGED by" in " ".join(seen.split())


def test_a_price_of_a_strength_shows_beside_the_drug(desk, app):
    async def price(keys):
        await keys.press("p")
        await keys.press("enter")
        await keys.type("1.5")
        await keys.press("ctrl+s")

    seen = run(app, price, (120, 40))
    assert [p.amount for p in desk.formulary.prices()] == [1.5], seen
    assert "costs 1.50 EUR per mL" in seen


def test_the_practice_goes_by_one_published_dose_and_marks_a_drug(desk, app):
    async def choose(keys):
        await keys.press("c", "0", "ctrl+s")
        await keys.press("m", "enter")
        await keys.free_text("house rule")
        await keys.press("ctrl+s")

    seen = run(app, choose, (120, 40))
    assert any(r.chosen for r in desk.formulary.drug("acepromazine").regimens), seen
    assert "acepromazine" in desk.pharmacy.registered(), seen


def test_a_roll_gets_its_price_and_the_load_list_its_cost(desk, app):
    async def price(keys):
        await keys.press("i")
        await keys.free_text("cohesive")
        await keys.press("enter", "enter")
        await keys.type("2.5")
        await keys.press("ctrl+s")

    seen = run(app, price, (120, 40))
    (found,) = desk.formulary.prices()
    assert (found.item, found.per, found.amount) == (
        "cohesive elastic 10 cm x 4.5 m", "roll", 2.5
    ), seen  # fmt: skip
