"""The body map over a form: views by key, zoom and back, size that grows, synovial outlines."""

import asyncio
import json

import pytest
from shots import screen_text
from textual.app import App

from fieldnotes.clinical.synovial import Probe, as_settled, risk_at
from fieldnotes.domain.anatomy import MapPoint
from fieldnotes.knowledge import bodymap
from fieldnotes.knowledge.bodymap import (
    WHOLE_VIEWS,
    first_view_of,
    load_view,
    point_in,
    region_at,
    shown_as,
)
from fieldnotes.knowledge.disputes import one_dispute
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.rendering.bodymap.palette import DARK
from fieldnotes.rendering.bodymap.wounds import WoundMark
from fieldnotes.tui.fields.place import Spot
from fieldnotes.tui.fields.sizes import TypedSize
from fieldnotes.tui.screens import map_words
from fieldnotes.tui.screens.map import FACTS_AFTER_S, MapScreen
from fieldnotes.tui.widgets.bodymap import BodyMap

RESTED_S = FACTS_AFTER_S + 0.1


class Under(App):
    CSS_PATH = "../../fieldnotes/tui/fieldnotes.tcss"

    def __init__(self, spot, size=None):
        super().__init__()
        self.spot, self.wound_size, self.taken = spot, size, "nothing yet"

    def get_css_variables(self):
        slots = dict.fromkeys(("quiet", "field", "overdue", "due", "done", "accent-ink"), "#888888")
        return {**super().get_css_variables(), **slots}

    def on_mount(self):
        self.push_screen(MapScreen(self.spot, self.wound_size), lambda t: setattr(self, "taken", t))


def on_map(script, region="left.hind.metatarsus.lateral", size=(80, 24), wound=None, spot=None):
    async def go():
        app = Under(spot or Spot(region), wound)
        async with app.run_test(size=size) as pilot:
            await pilot.pause(RESTED_S)
            await script(app, pilot, app.screen.query_one(BodyMap))

    asyncio.run(go())


def drawn(body_map, colour):
    return sum(colour in (c.fg, c.bg) for row in body_map._cells for c in row)


@pytest.fixture(autouse=True)
def many_colours(monkeypatch):
    monkeypatch.setenv("COLORTERM", "truecolor")
    monkeypatch.setattr("fieldnotes.tui.widgets.bodymap.palette_for", lambda _: DARK)


def test_digits_turn_the_horse_and_letters_the_limb_under_the_cursor():
    async def script(_, pilot, body_map):
        for number, view_id in enumerate(WHOLE_VIEWS, 1):
            await pilot.press(str(number))
            assert body_map.view_key == view_id
        await pilot.press("1")
        body_map.show_region("right.fore.metacarpus.lateral")
        for key, face in {"o": "lateral", "i": "medial", "d": "dorsal", "p": "palmar"}.items():
            await pilot.press(key)
            assert body_map.view_key == f"right.fore-{face}"
        await pilot.press("u")
        assert body_map.view_key == "right.fore-sole"

    on_map(script)


def test_a_close_up_fills_the_screen_follows_the_cursor_and_leads_back():
    async def script(_, pilot, body_map):
        await pilot.press("plus")
        assert body_map.view_key == "left.hind-lateral"
        layout = body_map._layout()
        frame = layout.scene.frame(layout.main_width, layout.drawn_height)
        body = {x for row in layout.regions() for x, i in enumerate(row) if i}
        assert len([x for x in body if x > layout.inset_width]) >= 16  # cells across a cannon bone
        for key in ["down"] * 4 + ["plus"] + ["up"] * 6:
            await pilot.press(key)
            layout = body_map._layout()
            frame = layout.scene.frame(layout.main_width, layout.drawn_height)
            column, row = frame.spot(*body_map.point)
            assert 0 <= column < frame.width
            assert 0 <= row < frame.height
        await pilot.press("minus", "minus")
        assert body_map.view_key == "left"

    on_map(script)


def test_the_opposite_arrow_returns_to_where_one_was():
    async def script(_, pilot, body_map):
        start = body_map.region_id
        await pilot.press("right", "up", "down", "left")
        assert body_map.region_id == start

    on_map(script, "left.hind.tarsus.dorsal")


def test_a_size_set_on_the_map_is_drawn_growing_and_taken():
    async def script(app, pilot, body_map):
        await pilot.press("plus")
        await pilot.press(*"ggggwwww")
        before = drawn(body_map, DARK.open)
        await pilot.press(*"ggggggwwww")
        assert drawn(body_map, DARK.open) > before
        await pilot.pause(RESTED_S)
        assert "wound 5 x 4.5 cm" in screen_text(app)
        await pilot.press("r", "r", "R", "enter")
        assert app.taken.size == TypedSize(50, 45)
        assert app.taken.size.answer() == "5 x 4.5"
        assert app.taken.spot.angle_deg == 15

    on_map(script)


def test_a_size_that_was_typed_is_kept_unless_changed_here():
    async def script(app, pilot, _):
        await pilot.press("enter")
        assert app.taken.size is None
        assert app.taken.spot.region == "left.hind.metatarsus.lateral"

    on_map(script, wound=TypedSize(60, 30))


def test_synovial_outlines_are_drawn_numbered_named_with_distance_and_called_approximate():
    async def script(app, pilot, body_map):
        await pilot.press("plus")
        assert not drawn(body_map, DARK.pouch)
        await pilot.press("s")
        await pilot.pause(RESTED_S)
        assert drawn(body_map, DARK.pouch) > 10
        assert "1" in {c.char for row in body_map._cells for c in row}
        shown = screen_text(app)
        assert "approximate" in shown
        assert "tarsal flexor sheath" in shown

    on_map(script, "left.hind.tarsus.plantar")


def test_a_wide_screen_tells_everything_beneath_and_the_cautions():
    async def script(app, pilot, _):
        shown = screen_text(app)
        for words in ("Near this point", "Beneath this region", "! Possible entry", "spans 2"):
            assert words in shown

    on_map(script, "left.hind.tarsus.plantar", (120, 40), TypedSize(60, 30))


def test_a_narrow_screen_still_tells_the_caution_of_the_place():
    async def at_a_hock(app, _, __):
        assert "! entry not excluded: no chlorhexidine" in screen_text(app)

    async def at_an_armpit(app, _, __):
        assert "! Armpit wound: air is drawn in" in screen_text(app)

    on_map(at_a_hock, "left.hind.tarsus.plantar")
    on_map(at_an_armpit, "left.chest.axilla")


@pytest.mark.parametrize("region", [r for r in load_regions().all if r.side != "right"][::3])
def test_on_a_narrow_screen_no_name_or_caution_is_cut(region):
    view = load_view(first_view_of(region.id))
    shown = shown_as(view, region.id)
    draft = WoundMark("", *point_in(view, shown), 180, 140, 15)
    risk = risk_at(Probe(view.key, draft.x_cm, draft.y_cm, 180, 140, 15))
    lines = map_words.short_text(region, risk, draft, view, (78, 4)).plain.split("\n")
    lines.append(map_words.name_line(region, view.title, 78))
    assert len(lines) <= 5
    assert max(map(len, lines)) <= 78
    assert not any("…" in line for line in lines)
    told = [line for line in lines if line.startswith("!")]
    assert not told or lines[-2].endswith((".", "referral"))
    assert not any(line.endswith("bursa beneath the region") for line in lines)


def test_the_caution_on_the_map_is_what_the_practice_settled_of_chlorhexidine():
    region = load_regions().get("left.hind.tarsus.plantar")
    view = load_view(first_view_of(region.id))
    x, y = point_in(view, shown_as(view, region.id))
    dilute = one_dispute("chlorhexidine-joint").option("dilute")
    risk = as_settled(risk_at(Probe(view.key, x, y, 20, 10)), dilute)
    narrow = map_words.short_text(region, risk, None, view, (78, 4)).plain
    wide = map_words.panel_text(region, risk, None, view, (200, 0)).plain
    assert "! entry not excluded: chlorhexidine 0.05 % at most; consider early referral" in narrow
    assert "never the scrub. Settled so by the practice." in wide
    assert "no chlorhexidine" not in narrow + wide


def test_a_foot_from_below_is_shown_whole_at_first():
    async def script(_, pilot, body_map):
        for foot in ("left.fore.foot.wall.toe", "right.hind.foot.wall.toe"):
            body_map.show_region(foot)
            await pilot.press("u")
            shown = {i for row in body_map._layout().regions() for i in row if i}
            assert shown == set(body_map.view_shown.region_ids)

    on_map(script)


def test_the_panel_can_be_read_to_its_end():
    async def script(app, pilot, _):
        await pilot.press("pagedown", "pagedown")
        assert "girth" in screen_text(app)

    on_map(script, "left.fore.carpus.dorsal", (120, 30), TypedSize(60, 30))


def test_a_region_is_found_by_part_of_a_name_and_shown_from_its_own_side():
    async def script(app, pilot, body_map):
        await pilot.press("slash", *"off", "space", *"hind", "space", *"fetl")
        assert body_map.region_id.startswith("right.hind.fetlock")
        assert body_map.view_key == "right"
        await pilot.press("enter", "question_mark")
        assert "Head, left" in screen_text(app)

    on_map(script)


def test_the_mouse_shows_a_name_and_takes_a_place_in_either_picture():
    async def script(app, pilot, body_map):
        await pilot.press("plus")
        spots = [(x, y) for y, row in enumerate(body_map._layout().regions())
                 for x, i in enumerate(row) if i == "left.hind.fetlock.lateral"]  # fmt: skip
        small = min(spots)
        assert small[0] < body_map._layout().inset_width
        await pilot.hover(BodyMap, offset=small)
        assert body_map.tooltip == "left lateral hind fetlock"
        await pilot.click(BodyMap, offset=small)
        assert app.taken.spot.region == "left.hind.fetlock.lateral"

    on_map(script)


@pytest.mark.parametrize("point", [(150.0, 20.0), (1e9, -3.0), (150.0, 115.0)])
def test_a_recorded_point_beside_its_region_is_replaced_by_one_inside(point):
    spot = Spot("left.hind.tarsus.lateral", "left", MapPoint(*point))

    async def script(_, __, body_map):
        assert region_at(body_map.view_shown, *body_map.point) == "left.hind.tarsus.lateral"

    on_map(script, spot=spot)


def test_a_drawing_that_cannot_be_read_is_named_and_the_map_stays(monkeypatch):
    whole = bodymap.shipped_text

    def broken(path):
        return json.dumps({"id": "front"}) if path == "map/front.json" else whole(path)

    async def script(app, pilot, body_map):
        bodymap._view.cache_clear()
        await pilot.press("3")
        assert body_map.view_key == "left"
        assert "cannot be read: map/front.json" in screen_text(app)
        await pilot.press("4")
        assert body_map.view_key == "back"

    monkeypatch.setattr(bodymap, "shipped_text", broken)
    try:
        on_map(script)
    finally:
        bodymap._view.cache_clear()
