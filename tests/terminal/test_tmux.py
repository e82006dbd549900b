"""The app in real terminals: sizes, kinds of terminal, no colour, resizing, a slow line."""

from __future__ import annotations

import datetime as dt
import re
import shutil
import time

import pytest
from panes import Pane

from fieldnotes.cli.demo import make_demo

pytestmark = pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed")

NOW = dt.datetime(2026, 3, 3, 10, 30, tzinfo=dt.UTC)
COLOUR = re.compile(r"\x1b\[[0-9;]*m")
SIZES = [(80, 24), (120, 40), (200, 60)]


@pytest.fixture(scope="module")
def sample(tmp_path_factory):
    folder = tmp_path_factory.mktemp("terminal") / "store"
    make_demo(folder, NOW)
    return folder


@pytest.fixture
def start(sample, tmp_path):
    """Start the app in a pane of its own, closed at the end."""
    panes = []

    def one(**how):
        store = shutil.copytree(sample, tmp_path / f"store{len(panes)}")
        panes.append(Pane(store, NOW, **how))
        shown = panes[-1].wait("9 stops", "overdue: x", "^p palette")
        assert widest(shown) == how.get("size", (80, 24))[0]
        return panes[-1]

    yield one
    for pane in panes:
        pane.close()


def colours(pane) -> set[int]:
    """Every number of the sequences that set colours or styles on the screen."""
    found = COLOUR.findall(pane.screen(colours=True))
    return {int(n) for seq in found for n in seq[2:-1].split(";") if n}


def widest(shown: str) -> int:
    return max(map(len, shown.splitlines()))


def told_by_reverse(pane) -> bool:
    return 7 in colours(pane)


def test_sixteen_colours_and_none_of_more(start):
    pane = start(term="linux")
    assert not {38, 48} & colours(pane)  # 38;5;n and 38;2;r;g;b: a palette the terminal has not
    assert set(range(90, 98)) & colours(pane)
    pane.press("2")
    pane.wait("22 open cases", "Barnaby")
    assert not {38, 48} & colours(pane)


def test_a_form_being_filled_in_keeps_what_was_typed_through_a_resize(start):
    pane = start(size=(120, 40))
    pane.press("2", "n")
    pane.wait("New case: first visit", "Horse")
    pane.press("Down")
    pane.wait("4h, 14:30")
    pane.press("Down")
    pane.wait("wire, kick")
    pane.type("kicked at the gate")
    pane.wait("kicked at the gate")
    for width, height in ((80, 24), (120, 40)):
        pane.resize(width, height)
        pane.wait("kicked at the gate", "^p palette")
        pane.wait("─" * (width - 2), gone="─" * (width + 1))


@pytest.mark.long
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("term", ["xterm-256color", "xterm", "linux", "screen-256color"])
def test_the_main_screens_fill_any_terminal_and_cut_nothing(start, size, term):
    pane = start(size=size, term=term)
    for key, words in (("2", "22 open cases"), ("3", "Coming days"), ("4", "Outbox"),
                       ("5", "Outcomes"), ("6", "Controlled drugs"), ("7", "Formulary"),
                       ("8", "to go"), ("0", "Follow-up rules"), ("1", "9 stops")):  # fmt: skip
        pane.press(key)
        shown = pane.wait(words, "^p palette", "Help")
        assert len(shown.splitlines()) == size[1]
        assert size[0] - 1 <= widest(shown) <= size[0]
    assert 2 not in colours(pane) or 38 not in colours(pane)
    pane.press("q")
    deadline = time.monotonic() + 20
    while pane.alive():
        assert time.monotonic() < deadline
        time.sleep(0.2)


@pytest.mark.long
@pytest.mark.parametrize("term", ["xterm-256color", "linux"])
def test_without_colour_none_is_sent_and_the_row_in_hand_is_told_by_reverse_video(start, term):
    pane = start(term=term, NO_COLOR="1")
    pane.press("2")
    pane.wait("22 open cases", "Barnaby")
    used = colours(pane)
    assert not used & {*range(30, 39), *range(40, 49), *range(90, 98), *range(100, 108)}
    assert told_by_reverse(pane)


@pytest.mark.long
@pytest.mark.parametrize("screen", ["today", "case"])
def test_a_resize_in_the_middle_lays_the_screen_out_anew(start, screen):
    pane = start(size=(120, 40))
    wide, narrow = "To load  l", "Overdue l To load"
    if screen == "case":
        pane.press("2")
        pane.wait("Barnaby")
        pane.press("Enter")
        pane.wait("Case z2g8y", "Timeline")
        wide, narrow = "Timeline  l", "Plan  p"
    pane.resize(80, 24)
    pane.wait(narrow, gone=wide)
    assert len(pane.screen().splitlines()) == 24
    pane.resize(120, 40)
    pane.wait(wide)


@pytest.mark.long
def test_on_a_slow_line_keys_typed_ahead_arrive_in_order_and_none_is_lost(start):
    pane = start(late_s=0.15)
    pane.press("2", "/")
    pane.type("bramble")  # all before the first answer is seen
    pane.wait("1 open case", "bramble")
    pane.press("Enter", "Enter")
    pane.wait("Case k7m2q")
    pane.press("t")
    words = "eating well, bandage dry; 37.9 this morning, walks sound 0123456789"
    for letter in words:
        pane.type(letter)
    pane.wait("Note: Bramble", words[-30:])
    pane.press("C-s")
    pane.wait("saved")
    pane.press("l")
    pane.wait(words[:20])
