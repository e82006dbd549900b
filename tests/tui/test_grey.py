"""Colour never speaks alone: what is overdue, due or done says so in a sign or word as well.

The check is of what is shown: on no screen do the same words stand in two colours of state, or in
one of them and plainly. Read in grey, or with NO_COLOR, each state can then still be told.
"""

from __future__ import annotations

import asyncio
import re
from collections import defaultdict

import pytest
from keys import Keys
from test_screens import NARROW, WIDE
from walk import MAIN, REST

from fieldnotes.cli.seat import Seat
from fieldnotes.tui.app import FieldnotesApp
from fieldnotes.tui.themes import NIGHT
from tests.tui.conftest import NOW

SLOTS = {
    NIGHT.variables["overdue"].casefold(): "overdue",
    NIGHT.variables["due"].casefold(): "due",
    NIGHT.variables["done"].casefold(): "done",
}
SIGN = re.compile(r"[a-z]{2}|[!?*~✓+x✗]")


def runs(strip):
    """Give the words of a line with the state their colour stands for, "" for none."""
    for segment in strip:
        ink = segment.style.color if segment.style else None
        slot = SLOTS.get(ink.triplet.hex.casefold(), "") if ink and ink.triplet else ""
        words = re.sub(r"\d+", "0", segment.text).strip().casefold()
        if words:
            yield words, slot


def told_by_colour_alone(found) -> list[str]:
    """Give what is shown in more than one state's colour, and what has neither sign nor word."""
    slots = defaultdict(set)
    for words, slot in found:
        slots[words].add(slot)
    return sorted(
        f"{words}: {', '.join(s or 'plain' for s in sorted(in_slots))}"
        for words, in_slots in slots.items()
        if len(in_slots) > 1 or (in_slots != {""} and not SIGN.search(words))
    )


def walked(store, steps, sizes):
    seat = Seat(lambda: NOW)
    app = FieldnotesApp(*seat.take(store), None, seat)
    found = {}

    async def go():
        async with app.run_test(size=NARROW) as pilot:
            keys = Keys(app, pilot)
            for _ in range(3):
                await keys.settle()
            for name, presses in steps:
                await keys.press(*presses.split())
                for size in sizes:
                    if app.size != size:
                        await pilot.resize_terminal(*size)
                        await keys.settle()
                    strips = app.screen._compositor.render_strips()
                    above_keys = strips[:-1]  # the line of keys shows no state
                    found[name, size] = {run for strip in above_keys for run in runs(strip)}
                if app.size != NARROW:
                    await pilot.resize_terminal(*NARROW)
                    await keys.settle()

    asyncio.run(go())
    seat.leave()
    return found


def check(found) -> None:
    states = {slot for shown in found.values() for _, slot in shown} - {""}
    assert states >= {"overdue", "due"}, "no state was shown: the check would say nothing"
    wrong = {name: told for name, shown in found.items() if (told := told_by_colour_alone(shown))}
    assert not wrong


def test_a_state_in_a_colour_says_itself_on_the_main_screens(store):
    check(walked(store, MAIN, (NARROW,)))


@pytest.mark.long
def test_a_state_in_a_colour_says_itself_on_every_screen(store):
    check(walked(store, (*MAIN, *REST), (NARROW, WIDE)))


def test_the_same_words_in_two_colours_are_found():
    assert told_by_colour_alone({("3 mar", "due"), ("3 mar", "overdue")}) == ["3 mar: due, overdue"]
    assert told_by_colour_alone({("pim", "due"), ("pim", "")}) == ["pim: plain, due"]
    assert told_by_colour_alone({("0", "done")}) == ["0: done"]
    assert not told_by_colour_alone({("! 0 d over", "overdue"), ("by 0 mar", "due"), ("pim", "")})
