"""The keys of an open form: what is typed stays in the form, Enter acts once."""

from __future__ import annotations

import asyncio

import pytest
from keys import Keys
from shots import screen_text
from textual import events

from fieldnotes.tui.app import FieldnotesApp
from fieldnotes.tui.fields.row import FieldRow
from fieldnotes.tui.forms.screen import FormScreen


@pytest.fixture(autouse=True)
def _cases_first(monkeypatch):
    """The round of the day need not be planned first."""
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "cases")


def field_in_focus(app) -> str:
    return next(r.field.key for r in app.screen.query(FieldRow) if r.has_focus_within)


def test_enter_on_the_review_goes_to_the_first_problem_and_no_further(app):
    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("n", "f4", "enter")
            assert field_in_focus(app) == "horse"
            assert "! this is needed" in screen_text(app)

    asyncio.run(go())


def test_page_up_leaves_a_long_review_and_nothing_is_taken_back_unseen(app):
    async def go():
        async with app.run_test(size=(80, 14)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("n", "b", "f4")
            area = app.screen.query_one("#pane")
            assert area.max_scroll_y > 0
            typed = dict(app.screen.answers)
            await keys.press("pagedown", "ctrl+z")
            assert "go back to a page first" in screen_text(app)
            assert app.screen.answers == typed
            for _ in range(9):
                await keys.press("pageup")
                await pilot.pause(0.3)  # it glides
                if not app.screen.query("#review"):
                    break
            assert app.screen.query(FieldRow)

    asyncio.run(go())


def test_neither_a_digit_nor_q_leaves_a_form(app):
    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("n", "pagedown", "enter", "enter")
            assert field_in_focus(app) == "wounds.A.kind"
            await keys.press("1", "2", "3", "4", "q")
            assert isinstance(app.screen, FormScreen)
            assert field_in_focus(app) == "wounds.A.kind"
            await keys.press("f4", "1", "q")
            assert isinstance(app.screen, FormScreen)
            await keys.press("question_mark")
            assert "next field" in screen_text(app)
            await keys.press("escape", "escape")
            assert not isinstance(app.screen, FormScreen)

    asyncio.run(go())


def typed_ahead(app, *words) -> None:
    """Send keys faster than anything can follow, as a slow line delivers them."""
    for word in words:
        for key in [word] if word == "enter" else word:
            character = None if key == "enter" else key
            app.post_message(events.Key(key, character))


def test_what_is_typed_ahead_over_an_enter_finds_the_next_field(app):
    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("O")
            typed_ahead(app, "Jo", "enter", "016", "enter", "jo", "enter", "mill")
            for _ in range(20):
                await keys.settle()
            typed = {
                key: app.screen.answers.get(key) for key in ("name", "phone", "email", "address")
            }
            assert typed == {"name": "Jo", "phone": "016", "email": "jo", "address": "mill"}

    asyncio.run(go())


def typed_down_a_page(app, *, at_once: bool) -> dict[str, object]:
    """Type down a page, each key by itself or all in one burst; give the answers and the field."""
    burst = (*"al", "down", "down", *"3h", "down", "f", "down", "down", "c", "up", "up", "p")
    told: dict[str, object] = {}

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("n", "pagedown", "enter", "enter")
            for key in burst:
                app.post_message(events.Key(key, key if len(key) == 1 else None))
                if not at_once:
                    await keys.settle()
            await keys.settle()
            told.update(app.screen.answers, focus=field_in_focus(app))

    asyncio.run(go())
    return told


def test_letters_and_arrows_in_one_burst_find_the_fields_they_were_meant_for(desk_and_drafts):
    slow = typed_down_a_page(FieldnotesApp(*desk_and_drafts), at_once=False)
    fast = typed_down_a_page(FieldnotesApp(*desk_and_drafts), at_once=True)
    assert len(slow) > 3
    assert fast == slow
