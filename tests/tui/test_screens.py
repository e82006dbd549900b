"""Every screen as it was last judged by eye, in both themes: its words, and a digest of its styles.

What changes on purpose is written anew, then looked at as a difference:

    FIELDNOTES_GOLDEN=write pytest tests/tui/test_screens.py
"""

from __future__ import annotations

import asyncio
import importlib
import os
import pkgutil
import re
import shutil
import tempfile
import zlib
from pathlib import Path

import pytest
from contrast import contrast
from keys import Keys
from textual.screen import Screen
from walk import MAIN, REST

from fieldnotes import tui
from fieldnotes.cli.seat import Seat
from fieldnotes.tui.app import FieldnotesApp
from tests.tui.conftest import NOW

GOLDEN = Path(__file__).parents[1] / "golden" / "screens"
WRITE = os.environ.get("FIELDNOTES_GOLDEN") == "write"
NARROW, WIDE = (80, 24), (120, 40)
LEAST = {"night": 4.5, "day": 7.0}
DRAWN = re.compile(r"[\s\u2500-\u28ff·⌂↑#+*=|]*")  # lines, blocks, braille: pictures, not words
OF_THE_MACHINE = re.compile(r"^ (Records|Free|Sealed|Entries) .*", re.MULTILINE)
BASES = {
    *("DeskScreen", "RecordScreen", "PanelScreen", "PreviewScreen"),
    *("Reckoner", "FormReckoner", "FormAids"),
}
ELSEWHERE = {
    "AssistantScreen": "test_assistant_screens.py",
    "EmptyScreen": "test_assistant_screens.py",
    "CoveredScreen": "test_locking.py",
    "TraceScreen": "test_trace.py",
    "TraceFileScreen": "test_trace.py",
    "RoundsScreen": "test_road_screen.py: what is found depends on the time there is to search",
    "SavedScreen": "test_form_animal.py",
    "NameScreen": "test_form_fill.py",
}
"""Screens that need more than keys to come to; their own tests read them."""


@pytest.fixture
def near_store(sample_store):
    """The store in a folder whose name is as long on every machine, as it is shown and wrapped."""
    with tempfile.TemporaryDirectory(prefix="fieldnotes-", dir="/tmp") as folder:
        yield shutil.copytree(sample_store, Path(folder) / "store")


@pytest.fixture
def walked(near_store, monkeypatch):
    """Walk steps; gives each screen by name and size, and the words too faint to read."""
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLORTERM", "truecolor")
    monkeypatch.delenv("NO_COLOR", raising=False)
    seat = Seat(lambda: NOW)
    app = FieldnotesApp(*seat.take(near_store), None, seat)

    def walk(steps, sizes):
        seen, faint = {}, []

        async def go():
            async with app.run_test(size=NARROW) as pilot:
                keys = Keys(app, pilot)
                for _ in range(3):  # due, then the board, then the flags
                    await keys.settle()
                for name, presses in steps:
                    await keys.press(*presses.split())
                    for size in sizes:
                        if app.size != size:
                            await pilot.resize_terminal(*size)
                            await keys.settle()
                        if "map" in name:
                            await pilot.pause(0.2)  # the facts follow the picture
                        shown_by.add(type(app.screen).__name__)
                        seen[name, size] = await _pictured(app, pilot, name, faint)
                    if app.size != NARROW:
                        await pilot.resize_terminal(*NARROW)
                        await keys.settle()

        asyncio.run(go())
        return seen, faint

    walk.shown_by = shown_by = set()
    yield walk
    seat.leave()


async def _pictured(app, pilot, name, faint) -> str:
    """Give the screen's lines, each after a digest of its styles by night and by day."""
    digests, text = [], []
    for theme in ("night", "day"):
        app.theme = theme
        await pilot.pause()
        strips = app.screen._compositor.render_strips()
        text = ["".join(s.text for s in strip) for strip in strips]
        digests.append([zlib.crc32(_styles(strip).encode()) & 0xFFFF for strip in strips])
        faint += [(name, theme, *x) for strip in strips for x in _faint(strip, LEAST[theme])]
    app.theme = "night"
    lines = OF_THE_MACHINE.sub(r" \1", "\n".join(text)).split("\n")
    rows = zip(*digests, lines, strict=True)
    return "\n".join(f"{night:04x} {day:04x}|{line}".rstrip() for night, day, line in rows)


def _styles(strip) -> str:
    """Give the colours and styles along a line; neighbours alike are one."""
    runs: list[list] = []
    for segment in strip:
        style = str(segment.style.without_color) if segment.style else ""
        look = [*_colours(segment), style]
        if runs and runs[-1][:-1] == look:
            runs[-1][-1] += segment.cell_length
        else:
            runs.append([*look, segment.cell_length])
    return repr(runs)


def _colours(segment) -> tuple[str, str]:
    style = segment.style
    pair = (style.color, style.bgcolor) if style else (None, None)
    return tuple(c.triplet.hex if c and c.triplet else "" for c in pair)


def _faint(strip, least: float):
    """Give the words of a line that have too little contrast (WCAG 2.2, 1.4.3 and 1.4.6)."""
    for segment in strip:
        if DRAWN.fullmatch(segment.text):
            continue
        ink, ground = _colours(segment)
        if ink and ground and contrast(ink, ground) < least:
            yield segment.text.strip(), ink, ground, round(contrast(ink, ground), 1)


def check(seen, faint) -> None:
    wrong = []
    for (name, (width, height)), shown in seen.items():
        file = GOLDEN / f"{name}-{width}x{height}.txt"
        if WRITE:
            file.parent.mkdir(exist_ok=True)
            file.write_text(shown + "\n", encoding="utf-8")
        elif not file.is_file() or file.read_text(encoding="utf-8") != shown + "\n":
            wrong.append(f"{file.name}\n{shown}")
    assert not faint
    assert not wrong, "\n".join(wrong)


def test_the_main_screens_are_as_last_judged(walked):
    check(*walked(MAIN, (NARROW,)))


@pytest.mark.long
def test_every_screen_is_as_last_judged_at_both_sizes(walked):
    check(*walked((*MAIN, *REST), (NARROW, WIDE)))
    assert _screens() - walked.shown_by == ELSEWHERE.keys()


def _screens() -> set[str]:
    """Give the name of every screen of the app that is shown as itself."""
    for module in pkgutil.walk_packages(tui.__path__, f"{tui.__name__}."):
        importlib.import_module(module.name)
    found, left = set(), [Screen]
    while left:
        below = left.pop().__subclasses__()
        left += below
        found |= {c.__name__ for c in below if c.__module__.startswith(tui.__name__)}
    return found - BASES
