"""The first screen: what is next, what presses, what to load; nothing lost on the way."""

from __future__ import annotations

import asyncio
import threading
import time
from dataclasses import replace

import pytest
from keys import Keys
from shots import screen_text

from fieldnotes.casework import live_day
from fieldnotes.domain.entries import HorseSet, PremisesSet
from fieldnotes.domain.patients import Position
from fieldnotes.tui.app import FieldnotesApp
from fieldnotes.tui.screens.route import day_stops, route_rows
from fieldnotes.tui.widgets.roundmap import drawn
from fieldnotes.tui.widgets.rows import RowList, fitted, wrapped

HOSTILE = "[/][L hind][@click=app.quit]x[/]a\x1b]52;c;x\x07b\u202eabc" + "x" * 10_000


def run(app, size, script):
    async def go():
        async with app.run_test(size=size) as pilot:
            keys = Keys(app, pilot)
            await settled(keys)
            await script(keys)

    asyncio.run(go())


async def settled(keys):
    for _ in range(3):  # due, then the board, then the flags
        await keys.settle()


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_the_day_is_told_at_a_glance(app, size):
    async def script(keys):
        shown = screen_text(app)
        for word in ("Today", "Next", "there", "driving", "back", "Arrive", "Leave", "Signs"):
            assert word in shown
        board = app.desk.board()
        first = day_stops(board)[0]
        assert f"{first.planned.arrive:%H:%M}" in shown
        assert first.horses[0][:8] in shown
        assert ("To load  l" in shown) == (size[0] > 100)

    run(app, size, script)


def test_every_stop_of_the_route_stands_once_in_driving_order(desk_and_drafts):
    board = desk_and_drafts[0].board()
    keys = [row.key for row in route_rows(board, 78) if row.key]
    assert keys == [f"stop:{s.due.premises}" for s in day_stops(board)]
    assert set(keys) == {f"stop:{s.premises}" for s in board.stops}


def test_overdue_infected_and_untimed_stops_say_so_in_words(desk_and_drafts):
    board = desk_and_drafts[0].board()
    text = "\n".join(row.text.plain for row in route_rows(board, 118))
    assert "d over" in text
    assert ("* infected" in text) == any(s.contaminated for s in board.stops)
    assert text.count("? untimed") == len(board.route.unreached) + len(board.route.skipped)


@pytest.mark.parametrize("width", [60, 78, 118])
def test_no_row_is_wider_than_its_list(desk_and_drafts, width):
    for row in route_rows(desk_and_drafts[0].board(), width):
        assert all(len(line) <= width for line in row.text.plain.split("\n"))


def test_enter_opens_the_case_and_escape_comes_back_to_the_same_stop(app):
    async def script(keys):
        await keys.press("down", "down")
        round_list = app.screen.query_one("#round", RowList)
        at = round_list.chosen
        await keys.press("enter")
        if app.screen.NAME == "today":  # several cases at the stop: their tasks come first
            await keys.press("enter")
        assert app.screen.NAME == "case"
        await keys.press("escape")
        await settled(keys)
        assert app.screen.NAME == "today"
        assert app.screen.query_one("#round", RowList).chosen == at

    run(app, (80, 24), script)


def test_a_recheck_at_a_stop_of_several_cases_asks_first_which_one(app):
    async def script(keys):
        stops = day_stops(app.desk.board())
        at = next(n for n, s in enumerate(stops) if len(s.due.cases) > 1)
        await keys.press(*["down"] * at, "v")
        assert app.screen.NAME == "today"
        assert "Which case?" in screen_text(app)
        chosen = app.screen.chosen_case()
        assert chosen in stops[at].due.cases
        await keys.press("v")
        assert app.screen.form.case == chosen

    run(app, (80, 24), script)


def test_the_load_list_is_a_line_an_item_and_its_workings_are_on_a_key(app):
    async def script(keys):
        board = app.desk.board()
        why = next(x.why[0] for x in board.load if x.why)
        await keys.press("l")
        shown = screen_text(app)
        assert " · " in shown
        assert why[:30] not in shown
        await keys.press("equals_sign")
        text = app.screen.query_one("#load").query_one("Static").content.plain
        assert why[:30] in " ".join(text.split())
        await keys.press("equals_sign")
        assert screen_text(app) == shown

    run(app, (80, 24), script)


def test_overdue_tasks_tell_why_they_matter(app):
    async def script(keys):
        await keys.press("x")
        shown = screen_text(app)
        line = app.desk.board().overdue[0]
        assert line.horse in shown
        assert "at the latest" in shown
        await keys.press("escape")
        assert "Arrive" in screen_text(app)

    run(app, (80, 24), script)


def test_the_load_list_names_the_stops_each_thing_is_for(app):
    async def script(keys):
        await keys.press("l")
        load = app.desk.board().load[0]
        assert load.item in screen_text(app)
        assert load.stops[0] in screen_text(app)

    run(app, (80, 24), script)


def test_a_resize_keeps_the_cursor_and_shows_as_much_again(app):
    async def script(keys):
        await keys.press("down", "down", "down")
        at, before = app.screen.query_one("#round", RowList).chosen, screen_text(app)
        await keys.pilot.resize_terminal(120, 40)
        await settled(keys)
        await keys.pilot.resize_terminal(80, 24)
        await settled(keys)
        assert app.screen.query_one("#round", RowList).chosen == at
        assert screen_text(app) == before

    run(app, (80, 24), script)


def test_names_of_any_kind_are_shown_as_written_on_the_round(desk_and_drafts):
    desk, drafts = desk_and_drafts
    stop = day_stops(desk.board())[0]
    place = desk.register().premises[stop.due.premises]
    desk.save(PremisesSet(replace(place, name=HOSTILE, access=HOSTILE)))
    desk.save(HorseSet(replace(desk.register().horses[stop.due.tasks[0].horse], name=HOSTILE)))
    app = FieldnotesApp(desk, drafts)

    async def script(keys):
        assert "[/][L hind]" in screen_text(app)
        for key in ("x", "l", "m"):
            await keys.pilot.press(key)
            await keys.pilot.pause()
            assert not set("\x1b\x07\u202e") & set(screen_text(app))
        assert app.is_running

    run(app, (120, 40), script)


def test_the_list_is_painted_and_the_desk_free_before_the_route_is_known(
    desk_and_drafts, monkeypatch
):
    desk, drafts = desk_and_drafts
    planned = live_day.board_now
    planning, looked_at = threading.Event(), threading.Event()

    def slow(*known):
        planning.set()
        looked_at.wait(20)
        return planned(*known)

    monkeypatch.setattr(live_day, "board_now", slow)
    app = FieldnotesApp(desk, drafts)

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            try:
                while not planning.is_set():
                    await pilot.pause(0.01)
                await pilot.pause()
                assert "Planning the route" in screen_text(app)
                assert not app.desk_lock.locked()
            finally:
                looked_at.set()
            await settled(Keys(app, pilot))
            assert "Planning the route" not in screen_text(app)

    asyncio.run(asyncio.wait_for(go(), 60))


def test_drawing_the_day_leaves_the_keys_free(desk_and_drafts):
    board = desk_and_drafts[0].board()
    times = []
    for _ in range(5):
        start = time.perf_counter()
        route_rows(board, 118)
        times.append(time.perf_counter() - start)
    assert min(times) < 0.030  # a drawing that takes longer is felt under the fingers


def test_the_map_has_north_up_and_east_to_the_right():
    home = Position(54.0, -1.5)
    places = (
        ("B", home),
        ("1", Position(54.1, -1.5)),
        ("2", Position(54.0, -1.3)),
    )
    rows = drawn(places, "1", 30, 10)
    at = {char: (x, y) for y, row in enumerate(rows[:-1]) for x, (char, _) in enumerate(row)}
    assert at["1"][1] < at["B"][1] == at["2"][1]
    assert at["2"][0] > at["B"][0] == at["1"][0]
    assert len(rows) == 10
    assert {len(row) for row in rows} == {30}


def test_text_is_cut_with_a_sign_and_never_loses_a_word_when_wrapped():
    assert fitted("granulation", 6).plain == "granu…"
    assert len(fitted("ab", 6).plain) == 6
    words = "the wound at the withers was " + "w" * 50
    assert "".join(wrapped(words, 20).plain.split()) == "".join(words.split())
    assert max(map(len, wrapped(words, 20).plain.split("\n"))) <= 20
