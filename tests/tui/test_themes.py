"""Contrast of every ink on every ground, the theme that is kept, and stillness.

WCAG 2.2, relative luminance and contrast ratio; success criterion 1.4.6 (AAA) asks 7:1,
1.4.3 (AA) 4.5:1: https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio
"""

from __future__ import annotations

import asyncio

import pytest
from contrast import contrast
from keys import Keys
from textual.color import Color

from fieldnotes.storage.card import setting_here
from fieldnotes.tui.app import FieldnotesApp
from fieldnotes.tui.themes import ANSI, DAY, NIGHT, first_theme

AAA, AA = 7.0, 4.5
# The colours a Linux console has when nobody changed them (drivers/tty/vt/vt.c, default_red ...).
CONSOLE = {
    "ansi_black": "#000000",
    "ansi_cyan": "#00AAAA",
    "ansi_white": "#AAAAAA",
    "ansi_bright_white": "#FFFFFF",
    "ansi_bright_red": "#FF5555",
    "ansi_bright_yellow": "#FFFF55",
    "ansi_bright_green": "#55FF55",
}


def test_the_formula_gives_the_published_extremes():
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast("#777777", "#FFFFFF") == pytest.approx(4.48, abs=0.01)


def pairs(theme):
    """Every ink on every ground it stands on, the row under the cursor among them."""
    slots, real = theme.variables, lambda name: CONSOLE.get(name, name)
    inks = [theme.foreground, theme.primary, *(slots[s] for s in ("overdue", "due", "done"))]
    inks.append(slots["quiet"])
    grounds = [real(x) for x in (theme.background, theme.panel, slots["field"])]
    if not theme.ansi:
        tint = Color.parse(theme.background).blend(Color.parse(theme.primary), 0.22)
        grounds.append(tint.hex)  # RowList's row under the cursor, in the style sheet
    found = [(real(ink), ground) for ink in inks for ground in grounds]
    return [*found, (real(slots["accent-ink"]), real(theme.primary))]


@pytest.mark.parametrize(("theme", "least"), [(DAY, AAA), (NIGHT, AA), (ANSI, AA)])
def test_every_ink_can_be_read_on_every_ground(theme, least):
    for ink, ground in pairs(theme):
        assert contrast(ink, ground) >= least, (theme.name, ink, ground)


def test_a_theme_nobody_has_is_the_night():
    assert (first_theme("day"), first_theme(""), first_theme("neon")) == ("day", "night", "night")


def test_the_chosen_theme_is_kept_for_this_computer_and_nothing_moves(store, monkeypatch):
    from fieldnotes.cli.seat import THEME, Seat
    from tests.tui.conftest import NOW

    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    seat = Seat(lambda: NOW)
    desk, drafts = seat.take(store)
    app = FieldnotesApp(desk, drafts, None, seat)

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            assert app.animation_level == "none"
            await keys.press("f2", "f2")
            assert app.theme == "day"

    asyncio.run(go())
    seat.leave()
    assert setting_here(store, THEME) == "day"


def test_the_body_map_takes_the_colours_of_a_theme_chosen_over_it(app):
    def grounds():
        strips = app.screen._compositor.render_strips()
        return {s.style.bgcolor.triplet.hex for strip in strips for s in strip if s.style.bgcolor}

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            app.theme = "night"
            await keys.press("n", "pagedown", "f3")
            night = grounds()
            app.theme = "day"
            await keys.settle()
            darkest = min(night, key=lambda ground: contrast(ground, "#000000"))
            assert darkest not in grounds()
            assert not {g for g in grounds() & night if contrast(g, "#FFFFFF") > AAA * 2}

    asyncio.run(go())
