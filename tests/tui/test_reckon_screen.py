"""The calculators by keys: F7 in a visit, on a case and on Today."""

from __future__ import annotations

import asyncio

import pytest
from keys import Keys
from shots import screen_text

from fieldnotes.tui.forms.screen import FormScreen
from fieldnotes.tui.screens.reckon import ReckonScreen


@pytest.fixture(autouse=True)
def cases_first(monkeypatch):
    """The app reads what it opens on when it is made."""
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "cases")


def test_a_weight_by_tape_and_a_dose_go_into_the_visit_and_bad_input_loses_nothing(app):
    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("slash")
            await keys.type("bram")
            await keys.press("enter", "v", "f7")
            assert isinstance(app.screen, ReckonScreen)
            assert "[Weight]" in screen_text(app)
            await keys.type("76")
            await keys.press("enter")
            await keys.type("160")
            await keys.press("ctrl+s")
            assert isinstance(app.screen, ReckonScreen)
            assert "was it inches?" in screen_text(app)
            await keys.press("escape", "f7")
            assert app.screen.answers == {"girth": "76", "length": "160"}
            await keys.press("tab")
            await keys.type("180")
            assert "436.4 kg" in screen_text(app)
            await keys.press("ctrl+s")
            assert isinstance(app.screen, FormScreen)
            assert "put in: Due, Weight" in screen_text(app)
            await keys.press("f7", "pagedown")
            await keys.type("butorph")
            await keys.press("enter", "enter", "ctrl+s")
            return app.screen.answers

    answers = asyncio.run(go())
    assert (answers["weight_kg"], answers["weight_by"]) == ("436", "formula")
    assert answers["drug.1.drug"] == "butorphanol"
    assert float(answers["drug.1.amount"]) > 0
    assert "11,880" in answers["reckoned"]
    assert "x 436 kg" in answers["reckoned"]


def test_on_a_case_nothing_takes_the_result_and_a_new_visit_knows_no_animal_yet(app):
    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("f7")
            assert isinstance(app.screen, ReckonScreen)
            assert "no note to put it into" in screen_text(app)
            assert "no animal chosen" not in screen_text(app)
            await keys.press("f7")
            assert not isinstance(app.screen, ReckonScreen)
            await keys.press("n", "f7")
            assert "no animal chosen" in screen_text(app)

    asyncio.run(go())
