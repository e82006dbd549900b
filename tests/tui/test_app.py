"""The shell: themes that can be read in the sun, keys that fit, names shown as written."""

from __future__ import annotations

import asyncio
from dataclasses import replace

import pytest
from keys import Keys
from shots import screen_text

from fieldnotes.domain.entries import HorseSet
from fieldnotes.tui.app import FieldnotesApp
from fieldnotes.tui.commands import COMMANDS, commands_for
from fieldnotes.tui.literal import cell, lit
from fieldnotes.tui.themes import DAY, NIGHT, SLOTS

HOSTILE = (
    "[/]",
    "[L hind]",
    "[@click=app.quit]x[/]",
    "[[",
    "a\x1b]52;c;x\x07b",
    "\u202eabc",
    "\u05e9\u05dc",
)
AGAINST_SUN = 9.0  # the ratio asked of the bright theme; WCAG 2.2 SC 1.4.6 (AAA) asks 7


@pytest.fixture(autouse=True)
def _cases_first(monkeypatch):
    """These are about forms: the round of the day need not be planned first."""
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "cases")


def luminance(colour: str) -> float:
    """Relative luminance (W3C, Web Content Accessibility Guidelines 2.2, definition)."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    light, dark = sorted((luminance(a), luminance(b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("slot", [*SLOTS, "text"])
def test_every_word_of_the_day_theme_can_be_read_in_the_sun(slot):
    for ground in (DAY.background, DAY.panel, DAY.variables["field"]):
        assert contrast(DAY.variables[slot], ground) >= AGAINST_SUN


@pytest.mark.parametrize("slot", [*SLOTS, "text"])
def test_every_word_of_the_night_theme_passes_the_strict_contrast(slot):
    assert contrast(NIGHT.variables[slot], NIGHT.background) >= 7


def test_every_command_has_its_own_id_and_at_most_seven_stand_in_a_footer():
    assert len({c.id for c in COMMANDS}) == len(COMMANDS)
    everywhere = sum(c.footer for c in COMMANDS if "app" in c.screens)
    for screen in {s for c in COMMANDS for s in c.screens}:
        assert sum(c.footer for c in COMMANDS if screen in c.screens) + everywhere + 1 <= 7


def test_no_two_commands_of_a_screen_share_a_key():
    for screen in {s for c in COMMANDS for s in c.screens} - {"app"}:
        keys = [k for c in commands_for(screen) for k in c.key.split(",")]
        assert len(keys) == len(set(keys)), screen


@pytest.mark.parametrize("text", HOSTILE[:4])
def test_brackets_are_shown_as_written(text):
    assert lit(text).plain == text
    assert cell(text).plain == text


def test_control_and_direction_characters_never_reach_the_terminal():
    for text in HOSTILE[4:6]:
        for shown in (lit(text).plain, cell(text).plain):
            assert not set("\x1b\x07\u202e") & set(shown)


@pytest.mark.parametrize("name", [*HOSTILE, "x" * 10_000, "\U0001f40e horse"])
def test_a_horse_of_any_name_can_be_listed_and_chosen(desk_and_drafts, name):
    desk, drafts = desk_and_drafts
    horse = next(h for h in desk.register().horses.values() if h.name == "Bramble")
    desk.save(HorseSet(replace(horse, name=name)))
    app = FieldnotesApp(desk, drafts)

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("2")
            visible = "".join(c for c in name if c.isascii() and c.isprintable())[:6]
            assert visible in screen_text(app)
            await keys.press("n")
            await keys.type("linden")
            await keys.press("enter", "f4")
            assert app.is_running

    asyncio.run(go())


def test_help_lists_the_keys_of_the_screen_and_escape_closes_it(app):
    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("2")
            await keys.press("question_mark")
            assert "New case" in screen_text(app)
            await keys.press("escape", "n", "f1")
            assert "next field" in screen_text(app)
            await keys.press("escape", "escape")
            assert "Cases" in screen_text(app)

    asyncio.run(go())


def test_an_empty_store_opens_with_three_ways_on():
    app = FieldnotesApp(None, None)

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            shown = screen_text(app)
            for word in ("Set up", "Import", "demo"):
                assert word in shown

    asyncio.run(go())
