"""Coming days and outbox: what is due on which day, and which letters wait."""

from __future__ import annotations

import asyncio
import datetime as dt
from dataclasses import dataclass

import pytest
from keys import Keys
from shots import screen_text

from fieldnotes.tui.screens.days import DAYS, by_day, day_rows
from fieldnotes.tui.screens.outbox import OutboxRead, letter_rows
from fieldnotes.tui.widgets.rows import RowList


@pytest.fixture(autouse=True)
def no_route(monkeypatch):
    """The day's route is another test's; start where nothing is reckoned."""
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "outbox")


def run(app, size, script):
    async def go():
        async with app.run_test(size=size) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await script(keys)

    asyncio.run(go())


def test_every_follow_up_of_two_weeks_stands_once_on_the_day_it_is_due(desk_and_drafts):
    desk = desk_and_drafts[0]
    today, lines = desk.today(), desk.due(days=DAYS)
    days = by_day(lines, today)
    for day, listed in days.items():
        for line in listed:
            assert line.state.value == "overdue" if day < today else day >= line.task.due
    last = today + dt.timedelta(days=DAYS)
    assert sum(map(len, days.values())) == sum(x.task.due <= last for x in lines)
    keys = [row.key for row in day_rows(days, today, 78) if row.key]
    assert len(keys) == len(set(keys))


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_days_list_who_does_what_in_which_window(app, size):
    async def script(keys):
        await keys.press("3")
        shown = screen_text(app)
        assert "Overdue" in shown
        assert "Today" in shown
        line = next(x for x in app.desk.due() if x.task.by.value == "vet")
        assert line.horse in shown

    run(app, size, script)


def test_one_key_leaves_only_the_vets_tasks_and_enter_opens_the_case(app):
    async def script(keys):
        await keys.press("3", "w")
        assert "0 owner" in screen_text(app)
        ref = app.screen.query_one("#days", RowList).chosen.split(":")[1]
        await keys.press("enter")
        assert ref in screen_text(app)
        await keys.press("escape", "w")
        assert "0 vet" in screen_text(app)

    run(app, (80, 24), script)


@dataclass(frozen=True)
class Letter:
    id: str
    case: str
    recipients: tuple[str, ...]
    queued_at: dt.datetime
    state: str


@pytest.mark.parametrize("state", ["queued", "sending", "sent", "failed", "unconfirmed"])
def test_a_letter_says_where_it_stands_in_words(state):
    letter = Letter(
        "1", "k7m2q", ("[/]@example.org",), dt.datetime(2026, 3, 3, tzinfo=dt.UTC), state
    )
    (row,) = letter_rows(OutboxRead(((letter, "[L hind]"),), dt.UTC), 78)
    word = {"queued": "waits", "sending": "being sent"}.get(state, state)
    assert word in row.text.plain
    assert "[L hind]" in row.text.plain
    assert "[/]@example.org" in row.text.plain


def test_an_empty_outbox_says_so(app):
    async def script(keys):
        await keys.press("4")
        assert "The outbox is empty" in screen_text(app)

    run(app, (80, 24), script)
