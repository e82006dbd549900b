"""No screen of the app holds the event loop by our own work, nor by importing it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from loop_walk import held
from walk import MAIN

from fieldnotes.tui.screens import case_words

HERE = Path(__file__).parent
ROOMS = (HERE.parents[1], HERE.parent, HERE)

pytestmark = pytest.mark.long


def test_no_screen_holds_the_loop(store):
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(map(str, ROOMS))}
    walk = [sys.executable, str(HERE / "loop_walk.py"), str(store)]
    done = subprocess.run(walk, check=True, capture_output=True, text=True, env=env)
    assert json.loads(done.stdout) == []


def test_a_screen_that_holds_the_loop_is_named(store, monkeypatch):
    quick = case_words.header

    def slow(*words):
        until = time.thread_time() + 0.08
        while time.thread_time() < until:
            pass
        return quick(*words)

    monkeypatch.setattr(case_words, "header", slow)
    assert "case" in {name for name, _, _ in held(store, MAIN)}
