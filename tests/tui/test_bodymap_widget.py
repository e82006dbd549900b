"""The map under the keys: arrows walk, letters nudge, Enter chooses, the mouse points."""

import asyncio

import pytest
from textual.app import App

from fieldnotes.knowledge.bodymap import load_view, region_at
from fieldnotes.knowledge.walking import neighbour
from fieldnotes.rendering.bodymap.wounds import WoundMark
from fieldnotes.tui.widgets.bodymap import BodyMap


class MapApp(App):
    def __init__(self, **options):
        super().__init__()
        self.options = options
        self.seen = []

    def compose(self):
        yield BodyMap(**self.options)

    def on_body_map_region_highlighted(self, message):
        self.seen.append(("at", message.region_id))

    def on_body_map_region_chosen(self, message):
        self.seen.append(("chosen", message.region_id, message.point))


def run(steps, size=(80, 24), **options):
    async def go():
        app = MapApp(**options)
        async with app.run_test(size=size) as pilot:
            body_map = app.query_one(BodyMap)
            body_map.focus()
            await pilot.pause()
            await steps(app, pilot, body_map)

    asyncio.run(go())


def test_an_arrow_key_goes_to_the_region_in_that_direction_and_says_so():
    async def steps(app, pilot, body_map):
        start = body_map.region_id
        await pilot.press("up")
        assert body_map.region_id == neighbour(load_view("left"), start, "up") != start
        assert app.seen[-1] == ("at", body_map.region_id)

    run(steps)


def test_enter_chooses_the_region_with_a_point_inside_it():
    async def steps(app, pilot, body_map):
        await pilot.press("enter")
        kind, region_id, point = app.seen[-1]
        assert (kind, region_id) == ("chosen", "left.hind.metatarsus.lateral")
        assert region_at(body_map.view_shown, *point) == region_id

    run(steps)


def test_nudging_moves_the_point_but_never_out_of_the_region():
    async def steps(app, pilot, body_map):
        start = body_map.point
        await pilot.press("k")
        assert body_map.point[1] > start[1]
        await pilot.press(*["l"] * 25)
        assert region_at(body_map.view_shown, *body_map.point) == body_map.region_id

    run(steps)


def test_zoom_goes_to_the_close_up_of_the_region_and_back():
    async def steps(app, pilot, body_map):
        body_map.show_region("right.hind.tarsus.calcaneus")
        assert body_map.view_key in {"left", "right"}
        body_map.zoom_in()
        assert body_map.view_key == "right.hind-plantar"
        assert body_map.region_id == "right.hind.tarsus.calcaneus"
        body_map.zoom_out()
        assert body_map.view_key == "right"
        body_map.show_region("head.poll")
        body_map.zoom_in()
        assert body_map.view_key == "head-right"

    run(steps)


@pytest.mark.parametrize("manner", ["blocks", "braille", "plain"])
def test_the_wound_being_entered_grows_on_the_map(manner):
    async def steps(app, pilot, body_map):
        before = body_map._cells
        body_map.set_wound_size(400, 200, 30)
        await pilot.pause()
        changed = sum(a != b for x, y in zip(before, body_map._cells, strict=True)
                      for a, b in zip(x, y, strict=True))  # fmt: skip
        assert changed > 12

    run(steps, region_id="left.chest.wall", manner=manner)


def test_a_click_chooses_the_region_under_the_mouse():
    async def steps(app, pilot, body_map):
        spots = ((x, y) for y, row in enumerate(body_map._layout().regions())
                 for x, region_id in enumerate(row) if region_id == "left.chest.wall")  # fmt: skip
        await pilot.click(BodyMap, offset=list(spots)[20])
        assert app.seen[-1][:2] == ("chosen", "left.chest.wall")

    run(steps)


def test_labels_with_brackets_are_shown_as_written():
    async def steps(app, pilot, body_map):
        text = "".join(s.text for y in range(24) for s in body_map.render_line(y))
        assert "[/]" in text

    mark = WoundMark("[/]", 150, 115, 80, 40)
    run(steps, wounds=lambda _: (mark,))


def test_the_map_survives_any_size():
    async def steps(app, pilot, body_map):
        for size in ((20, 8), (200, 60), (60, 16)):
            await pilot.resize_terminal(*size)
            await pilot.pause()
            assert len(body_map._cells) == body_map.size.height

    run(steps)
