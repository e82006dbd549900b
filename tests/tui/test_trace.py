"""A wound measured on a photograph with mouse and keys; a drawn one comes out within 3 %."""

from __future__ import annotations

import asyncio
import math

import pytest
from keys import Keys
from shots import screen_text
from textual.widgets import Input

from fieldnotes.domain.wounds import Measuring
from fieldnotes.tui.screens.photos import PhotosScreen
from fieldnotes.tui.screens.trace import TraceScreen
from fieldnotes.tui.widgets.picture import PictureView
from tests.pictures import MIDDLE, RULER, RULER_CM, WOUND_CM, edge, saved, with_exif

REF = "k7m2q"
TRUE_CM2 = math.pi / 4 * WOUND_CM[0] * WOUND_CM[1]


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "wound.jpg"
    path.write_bytes(saved(exif=with_exif("2026:03:03 09:00:00")))
    return str(path)


def run(app, size, script):
    async def go():
        async with app.run_test(size=size) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            app.push_screen(PhotosScreen(REF))
            await keys.settle()
            await script(keys)

    asyncio.run(go())


@pytest.fixture(autouse=True)
def no_route(monkeypatch):
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "outbox")


async def click(keys, point):
    """Click the cell in which a point of the picture is seen."""
    view = keys.app.screen.query_one(PictureView)
    column, row = view._window.dot(*point)
    await keys.pilot.click(PictureView, offset=(column, row // 2))
    await keys.settle()


async def traced(keys, points):
    view = keys.app.screen.query_one(PictureView)
    for point in RULER:
        view.cross = point
        await keys.press("plus", "plus", "plus", "plus")
        await click(keys, point)
        view.fit()
    await keys.type(f"{RULER_CM:g}")
    await keys.press("enter")
    view.cross = MIDDLE
    await keys.press("plus", "plus")
    for point in edge(points):
        await click(keys, point)


def test_a_photograph_is_added_from_its_path_and_a_bad_one_is_refused_at_the_field(app, file):
    async def script(keys):
        await keys.press("a")
        await keys.free_text("/nowhere.jpg")
        await keys.press("ctrl+s")
        assert "there is no file" in screen_text(app)
        await keys.press("escape")
        await keys.press("a")
        await keys.free_text(file)
        await keys.press("ctrl+s")
        assert isinstance(app.screen, PhotosScreen)
        assert " 3 Mar 26" in screen_text(app)
        assert "▀▀▀▀" in screen_text(app)

    run(app, (80, 24), script)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_a_drawn_wound_of_known_size_is_measured_within_three_percent(app, file, size):
    app.desk.album.add(REF, file)

    async def script(keys):
        await keys.press("enter")
        await traced(keys, 24)
        assert "cm round" in screen_text(app)
        await keys.press("s", "s")
        assert isinstance(app.screen, PhotosScreen)
        assert "saved" in screen_text(app)

    run(app, size, script)
    at, found = app.desk.case(REF).findings("A")[-1]
    assert found.area_cm2 == pytest.approx(TRUE_CM2, rel=0.03)
    assert found.measuring is Measuring.TRACING
    assert len(found.outline_cm) >= 20
    assert f"{at:%Y-%m-%d %H:%M}" == "2026-03-03 09:00"


def test_keys_alone_place_points_take_them_back_and_lose_none_on_the_way_out(app, file):
    app.desk.album.add(REF, file)

    async def script(keys):
        await keys.press("enter", "plus", "H", "H", "enter", "enter")
        assert "further along the ruler" in screen_text(app)
        await keys.press("L", "L", "enter")
        assert isinstance(app.focused, Input)
        await keys.type("0")
        await keys.press("enter")
        assert "no length of a ruler" in screen_text(app)
        await keys.press("backspace", "5", "enter")
        await keys.press("enter", "L", "enter", "s")
        assert "at least three" in screen_text(app)
        await keys.press("J", "enter")
        assert "3 points" in screen_text(app)
        await keys.press("backspace")
        assert "2 points" in screen_text(app)
        await keys.press("escape", "enter")
        assert isinstance(app.screen, TraceScreen)
        assert "2 points" in screen_text(app)

    run(app, (80, 24), script)


def test_without_colour_the_picture_is_drawn_in_characters(desk_and_drafts, file, monkeypatch):
    from fieldnotes.tui.app import FieldnotesApp

    monkeypatch.setenv("NO_COLOR", "1")
    plain = FieldnotesApp(*desk_and_drafts)
    plain.desk.album.add(REF, file)

    async def script(keys):
        await keys.press("enter")
        shown = screen_text(plain)
        assert "▀" not in shown
        assert "+" in shown

    run(plain, (80, 24), script)


def test_a_case_without_photographs_says_how_to_add_one(app):
    async def script(keys):
        await keys.press("enter")
        assert "a adds a photograph" in screen_text(app)

    run(app, (80, 24), script)
