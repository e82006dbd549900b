"""Without colour (the convention of no-color.org) everything is in the terminal's own two."""

from __future__ import annotations

import asyncio

import pytest
from keys import Keys

from fieldnotes.tui.app import FieldnotesApp


@pytest.fixture
def plain_app(desk_and_drafts, monkeypatch) -> FieldnotesApp:
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "cases")
    return FieldnotesApp(*desk_and_drafts)


def cells(app):
    """Every piece of the screen as it goes to the terminal: the strips are filtered already."""
    for strip in app.screen._compositor.render_strips():
        for segment in strip:
            if segment.text:
                yield segment


def check_readable(app) -> None:
    for segment in cells(app):
        style = segment.style
        ink, ground = (style.color, style.bgcolor) if style else (None, None)
        for colour in (ink, ground):
            assert colour is None or colour.is_default, (segment.text, style)


def test_every_word_of_lists_and_forms_can_be_read_without_colour(plain_app):
    async def go():
        async with plain_app.run_test(size=(100, 30)) as pilot:
            keys = Keys(plain_app, pilot)
            await keys.settle()
            for press in ("down", "n", "pagedown", "f4", "f2"):
                await keys.press(press)
                check_readable(plain_app)

    asyncio.run(go())


def test_the_row_and_the_field_in_hand_are_told_by_reverse_video(plain_app):
    async def go():
        async with plain_app.run_test(size=(100, 30)) as pilot:
            keys = Keys(plain_app, pilot)
            await keys.settle()
            assert any(s.style.reverse for s in cells(plain_app) if s.style)
            await keys.press("n", "pagedown", "enter", "enter")
            assert any(
                s.style.reverse and "laceration" in s.text for s in cells(plain_app) if s.style
            )

    asyncio.run(go())
