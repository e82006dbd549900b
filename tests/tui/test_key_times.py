"""A key is painted in time: the real app writes to a terminal of 120 x 40, over 10,000 cases."""

from __future__ import annotations

import asyncio
import datetime as dt
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest
from conftest import NOW
from key_walk import TARGET_MS, moving, session

from fieldnotes.tui.screens import today

pytestmark = pytest.mark.long
MAKE = Path(__file__).parents[1] / "benchmarks" / "make_store.py"
DAY_AFTER = dt.datetime(2026, 3, 3, 7, 0, tzinfo=dt.UTC)  # the benchmark's store is of the 2nd
ROUNDS = 2


@pytest.fixture(scope="module")
def ten_thousand(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("many") / "store"
    subprocess.run([sys.executable, str(MAKE), str(folder), "10000"], check=True)
    return folder


def late(rounds) -> dict[str, float]:
    """Give each class whose p95, the median over the rounds, is over its target."""
    p95 = {name: statistics.median(r[name].at(0.95) for r in rounds) for name in TARGET_MS}
    return {name: ms for name, ms in p95.items() if ms > TARGET_MS[name]}


def test_with_ten_thousand_cases_every_key_is_painted_in_time(ten_thousand):
    rounds = [asyncio.run(session(ten_thousand, DAY_AFTER)) for _ in range(ROUNDS)]
    assert late(rounds) == {}


def test_a_delay_of_a_key_is_seen(store, monkeypatch):
    quick = today.TodayScreen._mark_map

    def slow(*words) -> None:
        time.sleep(0.06)
        quick(*words)

    async def arrows(fingers, app):
        await moving(fingers, app, "moving", ("down", "up") * 8)

    monkeypatch.setattr(today.TodayScreen, "_mark_map", slow)
    times = asyncio.run(session(store, NOW, (arrows,)))
    assert times["moving"].at(0.95) > TARGET_MS["moving"]
