"""F8 fills a visit in from a line or a template, marks the guesses, and ^z takes it back."""

from __future__ import annotations

import asyncio

from keys import Keys
from shots import screen_text

from fieldnotes.casework.wound_templates import WoundTemplates


def test_a_line_fills_the_form_its_guess_is_marked_and_undo_takes_it_back(app):
    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("n", "f8")
            await keys.free_text("cut LH dorsal cannon 8x3, no drain")
            text = screen_text(app)
            assert "left dorsal metatarsus" in text
            assert "no drain" in text
            await keys.press("enter", "pagedown")
            text = screen_text(app)
            assert "left dorsal metatarsus" in text
            assert "from 'cut': right?" in text
            screen = app.screen
            assert "placed" not in str(screen.answers)
            assert screen.answers["findings.A.note"] == "no drain"
            await keys.press("f4")
            assert "from 'cut': not confirmed" in screen_text(app)
            await keys.press("pageup", "ctrl+z")
            assert not any(screen.answers.values())

    asyncio.run(go())


def test_going_on_from_a_marked_field_confirms_it(app):
    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("n", "f8")
            await keys.free_text("cut LH dorsal cannon 8x3")
            await keys.press("enter", "pagedown", "enter", "enter", "enter")
            assert "right?" not in screen_text(app)
            assert app.screen.unconfirmed() == ()

    asyncio.run(go())


def test_a_recheck_copies_last_time_forward_and_marks_all_of_it(app, desk_and_drafts):
    desk, _ = desk_and_drafts
    typed = {"care.A.bandage": "distal limb", "care.A.every": "3"}
    WoundTemplates(desk).keep("Usual wrap", "recheck", typed)

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("2", "slash")
            await keys.type("bram")
            await keys.press("enter", "v", "f8")
            assert "as on" in screen_text(app)
            assert "Usual wrap" in screen_text(app)
            await keys.press("enter")
            screen = app.screen
            marked = {p.field for p in screen.unconfirmed()}
            assert "care.A.bandage" in marked
            await keys.press("f8", "down", "ctrl+r", "escape")

    asyncio.run(go())
    assert desk.register().templates["usual-wrap"].dropped


def test_a_form_is_kept_as_a_template_and_offered_again(app, desk_and_drafts):
    desk, _ = desk_and_drafts

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("n", "ctrl+t")
            await keys.free_text("Nothing")
            await keys.press("enter")
            assert "fill in more first" in screen_text(app)
            await keys.press("f8")
            await keys.free_text(
                "wire lac LH dorsal cannon, second intention, foam, half limb bandage"
            )
            await keys.press("enter", "ctrl+t")
            await keys.free_text("Wire cut hind cannon")
            await keys.press("enter")
            assert "template 'Wire cut hind cannon' kept" in screen_text(app)

    asyncio.run(go())
    kept = dict(desk.register().templates["wire-cut-hind-cannon"].answers)
    assert kept["wounds.A.region"] == "hind.metatarsus.dorsal"
    assert kept["care.A.closure"] == "second intention"


def test_a_template_is_renamed_where_it_is_chosen_and_a_name_in_use_is_refused_there(
    app, desk_and_drafts
):
    desk, _ = desk_and_drafts
    WoundTemplates(desk).keep("Kick", "first_visit", {"mechanism": "kick"})

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("n", "f8")
            assert "^n gives the template under the cursor another name" in screen_text(app)
            await keys.press("ctrl+n")
            await keys.free_text("wire CUT, left open")
            await keys.press("enter")
            assert "there is a template 'wire CUT, left open' already" in screen_text(app)
            assert app.focused.value == "wire CUT, left open"
            await keys.free_text("Kick, closed")
            await keys.press("enter")
            text = screen_text(app)
            assert "called 'Kick, closed' now" in text
            assert "> Kick, closed" in text
            await keys.press("ctrl+n", "escape")
            assert "> Kick, closed" in screen_text(app)
            await keys.press("ctrl+r")
            text = screen_text(app)
            assert "'Kick, closed' is off the list" in text
            assert "> Kick, closed" not in text
            await keys.press("enter")
            assert app.screen.answers["mechanism"] == "caught in wire"

    asyncio.run(go())
    assert [t.name for t in WoundTemplates(desk).all()] == ["Wire cut, left open"]


def test_a_form_is_not_kept_under_a_name_in_use_and_the_name_stays_to_be_changed(app):
    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("n", "f8", "enter", "ctrl+t")
            await keys.free_text("Wire cut, left open")
            await keys.press("enter")
            assert "there is a template 'Wire cut, left open' already" in screen_text(app)
            await keys.free_text("Wire cut, closed")
            await keys.press("enter")
            assert "template 'Wire cut, closed' kept" in screen_text(app)

    asyncio.run(go())


def test_what_a_template_bandages_a_limb_with_stands_once_its_side_is_chosen(app):
    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("n", "f8", "enter")
            assert "5 answers filled in" in screen_text(app)
            assert "not taken" not in screen_text(app)
            await keys.press("pagedown", "enter")
            assert app.screen.answers["wounds.A.region"] == "left.hind.metatarsus.dorsal"
            await keys.press("pagedown")
            [bandage] = [x for x in screen_text(app).splitlines() if x.startswith(" Bandage ")]
            assert "distal limb" in bandage

    asyncio.run(go())
