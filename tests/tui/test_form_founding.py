"""An empty store: set up, import, demo - each key leads into the app; and where it cannot open."""

from __future__ import annotations

import asyncio
import os
import pty
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from conftest import NOW
from keys import Keys
from shots import screen_text

from fieldnotes.cli.app import Founder, terminal_fault
from fieldnotes.storage.drafts import Drafts
from fieldnotes.storage.place import is_store
from fieldnotes.tui.app import FieldnotesApp

SAMPLES = Path(__file__).parents[2] / "sample_cases"


@pytest.fixture
def start(tmp_path, monkeypatch):
    """Open the app where there is no store, press keys, and give the screen and the app."""
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "cases")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))

    def run(steps) -> tuple[str, FieldnotesApp]:
        async def go():
            app = FieldnotesApp(None, None, Founder(tmp_path / "new", lambda: NOW))
            async with app.run_test(size=(80, 24)) as pilot:
                keys = Keys(app, pilot)
                await keys.settle()
                await steps(keys)
                await keys.settle()
                return screen_text(app), app

        return asyncio.run(go())

    return run


def test_i_imports_a_folder_and_says_what_it_cannot_read(start, tmp_path):
    async def steps(keys):
        await keys.press("i")
        await keys.free_text(str(tmp_path / "nowhere"))
        await keys.press("enter")
        assert "No such file" in screen_text(keys.app)
        assert not is_store(tmp_path / "new")
        await keys.free_text(str(SAMPLES))
        await keys.press("enter")

    _, app = start(steps)
    assert len(app.desk.find_cases()) >= 20


def test_d_opens_the_demo_and_leaves_the_empty_store_alone(start, tmp_path):
    async def steps(keys):
        await keys.press("d")

    shown, app = start(steps)
    assert "open cases" in shown
    assert app.desk.find_cases()
    assert not is_store(tmp_path / "new")


def test_no_terminal_or_a_dumb_one_is_said_in_a_sentence(monkeypatch):
    assert "needs a terminal" in terminal_fault()
    monkeypatch.setattr("sys.stdin", type("T", (), {"isatty": lambda _: True})())
    monkeypatch.setattr("sys.stdout", type("T", (), {"isatty": lambda _: True})())
    monkeypatch.setenv("TERM", "dumb")
    assert "TERM=dumb" in terminal_fault()
    monkeypatch.setenv("TERM", "xterm-256color")
    assert terminal_fault() == ""


def test_without_a_terminal_the_app_ends_with_usage_error(store):
    command = [sys.executable, "-m", "fieldnotes", "--data", str(store)]
    done = subprocess.run(command, stdin=subprocess.DEVNULL, capture_output=True, check=False)
    assert done.returncode == 2
    assert b"needs a terminal" in done.stderr


def test_no_colour_is_asked_for_and_none_is_used(desk_and_drafts, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    app = FieldnotesApp(*desk_and_drafts)
    assert app.theme == "ansi"
    assert app.no_color


def _read_until(screen: int, wanted: bytes, seconds: float) -> bytes:
    os.set_blocking(screen, False)
    seen, until = b"", time.monotonic() + seconds
    while wanted not in seen and time.monotonic() < until:
        try:
            seen += os.read(screen, 65536)
        except BlockingIOError:
            time.sleep(0.05)
        except OSError:
            break
    return seen


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals")
@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP"])
def test_a_closing_window_keeps_what_was_typed_and_restores_the_terminal(store, name):
    screen, keys = pty.openpty()
    command = [sys.executable, "-m", "fieldnotes", "--data", str(store), "--now", NOW.isoformat()]
    environment = {**os.environ, "TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"}
    app = subprocess.Popen(
        command, stdin=keys, stdout=keys, stderr=keys, env=environment, start_new_session=True
    )
    try:
        assert b"palette" in _read_until(screen, b"palette", 30)
        os.write(screen, b"n")
        assert b"first visit" in _read_until(screen, b"first visit", 30)
        os.write(screen, b"bram")
        assert b"draft kept" in _read_until(screen, b"draft kept", 30)
        app.send_signal(getattr(signal, name))
        left = _read_until(screen, b"\x1b[?1049l", 20)
        assert app.wait(timeout=20) == 0
        assert b"\x1b[?1049l" in left  # xterm control sequences: back to the normal screen buffer
    finally:
        app.kill()
        os.close(screen)
        os.close(keys)
    [draft] = Drafts(store / "drafts").list()
    assert draft.answers["horse"] == "bram"
