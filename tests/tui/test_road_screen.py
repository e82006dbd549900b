"""The route and rounds screens: one key each, a restart goes on, the old plan stays meanwhile."""

from __future__ import annotations

import asyncio

import pytest
from keys import Keys
from shots import screen_text
from textual.widgets import Input

from fieldnotes.domain.driving import StopState
from fieldnotes.domain.patients import Position
from fieldnotes.tui.app import FieldnotesApp
from fieldnotes.tui.widgets.roundmap import drawn
from fieldnotes.tui.widgets.rows import RowList


def run(app, size, script):
    async def go():
        async with app.run_test(size=size) as pilot:
            keys = Keys(app, pilot)
            for _ in range(3):
                await keys.settle()
            await script(keys)

    asyncio.run(go())


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_a_day_is_driven_with_one_key_a_stop_and_goes_on_after_a_restart(desk_and_drafts, size):
    desk, drafts = desk_and_drafts
    first, second = (s.stop for s in desk.road.live().plan.stops[:2])

    async def morning(keys):
        await keys.press("8")
        await keys.press("s", "a", "d")
        assert "✓" in screen_text(app)
        marks = desk.road.live().marks
        assert [m.stop for m in marks.values()] == ["base", first]
        assert marks[first].state is StopState.DONE

    app = FieldnotesApp(desk, drafts)
    run(app, size, morning)

    async def later(keys):
        await keys.press("8")
        shown = screen_text(app)
        assert "set off" in shown
        assert f"Next  {desk.register().premises[second].name}" in shown
        for head in ("Arrive", "Drive", "Wait", "Slack", "Why"):
            assert head in shown

    app = FieldnotesApp(desk, drafts)
    run(app, size, later)


def test_a_call_is_shown_as_a_proposal_with_its_price_and_taken_with_one_key(desk_and_drafts):
    desk, drafts = desk_and_drafts
    app = FieldnotesApp(desk, drafts)

    async def script(keys):
        await keys.press("8", "s", "i", "enter")
        await keys.type("Alderm")
        await keys.press("enter", "ctrl+s")
        shown = screen_text(app)
        assert "Proposed" in shown
        assert "min driving" in shown
        assert "+ new" in shown
        order = [s.stop for s in desk.road.live().plan.stops]
        assert "aldermoor" not in " ".join(order)
        await keys.press("y")
        assert "+ new" not in screen_text(app)
        assert len(desk.road.live().plan.stops) == len(order) + 1

    run(app, (80, 24), script)


def test_a_stop_is_left_out_only_with_a_reason_and_owners_are_told_their_own(
    desk_and_drafts, tmp_path
):
    desk, drafts = desk_and_drafts
    app = FieldnotesApp(desk, drafts)

    async def script(keys):
        await keys.press("8")
        stop = app.screen.query_one("#stops", RowList).chosen.removeprefix("stop:")
        await keys.press("w")
        assert "between" in screen_text(app)
        await keys.press("t")
        assert desk.road.live().promises[0].premises == stop
        await keys.press("s")
        app.screen.query_one("#path", Input).value = str(tmp_path / "text.txt")
        await keys.press("enter")
        text = desk.road.texts(stop)[0].text
        assert (tmp_path / "text.txt").read_text() == f"{text}\n"
        await keys.press("s", "escape", "escape")
        assert app.screen.NAME == "road"
        await keys.press("minus", "ctrl+s")
        assert desk.road.live().marks == {}

    run(app, (80, 24), script)


def test_the_rounds_show_days_bound_and_who_searched(app):
    async def script(keys):
        await keys.press("9")
        for _ in range(3):
            await keys.settle()
        shown = screen_text(app)
        for words in ("min driving", "at least", "gap", "bound by", "leave"):
            assert words in shown
        await keys.press("escape")
        assert app.is_running

    run(app, (120, 40), script)


def test_the_map_has_a_north_arrow_and_a_scale_bar_of_true_length():
    # 0.09 degrees of latitude are 10.0 km on a sphere of the mean radius.
    places = (("B", Position(54.0, -1.5)), ("1", Position(54.09, -1.5)))
    rows = drawn(places, "", 60, 11)
    last = "".join(char for char, _ in rows[-1])
    assert last.startswith("↑N ├")
    at = {char: y for y, row in enumerate(rows[:-1]) for char, _ in row if char in "B1"}
    cells = last.index("┤") - last.index("├")
    km = float(last.split("┤")[1].split()[0])
    assert km / cells == pytest.approx(10.0 / (at["B"] - at["1"]) / 2, rel=0.1)
