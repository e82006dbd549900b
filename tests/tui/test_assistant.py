"""A first run by keys: page by page, back and forth, left in the middle, and what is wrong."""

from __future__ import annotations

import asyncio
import datetime as dt
from pathlib import Path

import pytest
from conftest import NOW
from keys import Keys
from shots import screen_text
from test_form_keys import typed_ahead

from fieldnotes.casework.settings import change_setting
from fieldnotes.cli.app import Founder
from fieldnotes.cli.seat import Seat
from fieldnotes.domain.mail import MailServer
from fieldnotes.storage.drafts import Drafts
from fieldnotes.storage.place import is_store
from fieldnotes.tui.app import FieldnotesApp, Opening
from fieldnotes.tui.forms.register_forms import PersonForm
from fieldnotes.tui.screens.assistant import AssistantScreen

PAGES = ("Your practice", "Who signs", "Where the day starts", "Sending handouts",
         "Bring in what you have", "Ready")  # fmt: skip


@pytest.fixture
def start(tmp_path, monkeypatch):
    """Start the app on one folder, as often as asked; press keys; give the screen and the app."""
    monkeypatch.setenv("TZ", "Europe/Dublin")
    folder = tmp_path / "new"

    def run(steps, size=(80, 24)) -> tuple[str, FieldnotesApp]:
        seat = Seat(lambda: NOW)
        founder = Founder(folder, lambda: NOW, seat)
        opening = Opening(founder.open, b"", NOW) if is_store(folder) else None
        app = FieldnotesApp(None, None, founder, seat, opening)

        async def go():
            async with app.run_test(size=size) as pilot:
                keys = Keys(app, pilot)
                for _ in range(3):
                    await keys.settle()
                await steps(keys)
                await keys.settle()
                return screen_text(app)

        shown = asyncio.run(go())
        seat.leave()
        return shown, app

    run.folder = folder
    return run


async def practice(keys):
    await keys.free_text("Hill Practice")
    await keys.press("enter")
    await keys.free_text("01632 960001")
    await keys.press("pagedown")


async def people(keys):
    await keys.free_text("A Vet")
    await keys.press("enter")
    await keys.free_text("R-1001")
    await keys.press("enter")
    await keys.free_text("B Nurse")
    await keys.press("enter", "n", "pagedown")


async def base(keys):
    await keys.free_text("54.51, -1.62")
    await keys.press("enter", "p", "enter")


async def mail(keys):
    await keys.free_text("mail.example.org")
    await keys.press("pagedown")


async def nothing(keys):
    await keys.press("enter")


FILL = (practice, people, base, mail, nothing, nothing)


def test_a_first_run_by_keys_leads_into_a_practice_that_can_be_worked_in(start):
    async def steps(keys):
        await keys.press("enter")
        for page, fill in zip(PAGES, FILL, strict=True):
            assert page in screen_text(keys.app)
            await fill(keys)

    shown, app = start(steps)
    assert "Today" in shown
    made = app.desk.practice()
    assert (made.name, made.phone, made.zone) == ("Hill Practice", "01632 960001", "Europe/Dublin")
    assert (made.base.lat, made.base.lon, made.units) == (54.51, -1.62, "us")
    assert made.mail_server == MailServer("mail.example.org")
    signing = app.desk.register().people.values()
    assert [(p.name, p.role, p.licence) for p in signing] == [
        ("A Vet", "vet", "R-1001"), ("B Nurse", "nurse", ""),
    ]  # fmt: skip
    assert app.desk.author() == "vet-1"
    assert Drafts(start.folder / "drafts").list() == ()


@pytest.mark.parametrize("left", range(len(PAGES)))
@pytest.mark.parametrize("how", ["escape", "ctrl+q", "killed"])
def test_left_in_the_middle_of_a_page_the_next_start_goes_on_there(start, left, how):
    async def first(keys):
        await keys.press("s")
        for fill in FILL[:left]:
            await fill(keys)
        if left < 4:
            await keys.free_text("half typed")
        await keys.pilot.pause(0.7)  # the draft follows what is typed by half a second
        await keys.settle()
        if how != "killed":
            await keys.press(how)

    async def again(keys):
        assert isinstance(keys.app.screen, AssistantScreen)
        assert PAGES[left] in screen_text(keys.app)
        if left < 4:
            assert "half typed" in screen_text(keys.app)
        for _ in range(left):
            await keys.press("pageup")
        assert left == 0 or "Hill Practice" in screen_text(keys.app)

    start(first)
    assert is_store(start.folder)
    start(again)


def test_back_and_forth_loses_nothing(start):
    async def steps(keys):
        await keys.press("s")
        await practice(keys)
        await people(keys)
        await keys.free_text("54.51, -1.62")
        await keys.press("pageup", "pageup")
        assert "Hill Practice" in screen_text(keys.app)
        await keys.press("pagedown")
        assert "B Nurse" in screen_text(keys.app)
        assert "nurse" in screen_text(keys.app)
        await keys.press("pagedown")
        assert "54.51, -1.62" in screen_text(keys.app)

    start(steps)


@pytest.mark.parametrize(
    ("page", "downs", "typed", "said"),
    [
        (0, 0, "", "this is needed"),
        (0, 1, "", "this is needed"),
        (0, 3, "not an address", "not an email address"),
        (1, 0, "", "this is needed"),
        (2, 0, "95, 1", "latitude"),
        (2, 2, "Mars/Base", "no time zone"),
        (3, 0, "not a name", "not the name of a mail server"),
        (3, 1, "99999", "cannot be right"),
        (3, 2, "someone", "server is needed"),
        (3, 3, "nobody", "server is needed"),
    ],
)
def test_what_is_wrong_is_said_at_its_field_and_nothing_goes_on(start, page, downs, typed, said):
    async def steps(keys):
        await keys.press("s")
        for fill in FILL[:page]:
            await fill(keys)
        if (page, downs) == (0, 1):
            await keys.free_text("Hill Practice")
        elif page == 0 and downs == 3:
            await keys.free_text("Hill Practice")
            await keys.press("down")
            await keys.free_text("01632 960001")
            await keys.press("up")
        await keys.press(*["down"] * downs)
        await keys.free_text(typed)
        await keys.press("pagedown")

    shown, app = start(steps)
    assert PAGES[page] in shown
    fault = next(line for line in shown.split("\n") if line.strip().startswith("!"))
    assert said in fault
    assert app.desk.register().practice is None


def test_import_is_offered_and_may_be_skipped_and_what_is_ready_says_where_to_change_it(start):
    async def steps(keys):
        await keys.press("s")
        for fill in FILL[:4]:
            await fill(keys)
        await keys.press("i")
        assert keys.app.screen.NAME == "import"
        await keys.press("escape")
        assert PAGES[4] in screen_text(keys.app)
        await keys.press("enter")

    shown, _ = start(steps)
    assert PAGES[5] in shown
    for words in ("Settings", "Who signs", "Outbox, mail server", "Upkeep, import"):
        assert words in shown


def test_what_was_changed_in_between_is_not_undone_by_going_on(start):
    async def first(keys):
        await keys.press("s")
        for fill in FILL[:4]:
            await fill(keys)
        await keys.press("escape")
        change_setting(keys.app.desk, "name", "Dale Practice")
        change_setting(keys.app.desk, "day_start", "8:15")

    async def again(keys):
        await keys.press("pageup", "pagedown", "enter")
        assert "Dale Practice" in screen_text(keys.app)
        await keys.press("enter")

    start(first)
    _, app = start(again)
    assert app.desk.practice().name == "Dale Practice"
    assert app.desk.practice().day_start == dt.time(8, 15)


def test_one_who_signs_can_be_changed_later(desk_and_drafts):
    desk, _ = desk_and_drafts
    [first, *_] = desk.register().people.values()
    form = PersonForm(desk)
    form.save({"person": first.id, "licence": "R-2002"})
    changed = desk.register().people[first.id]
    assert (changed.name, changed.licence) == (first.name, "R-2002")
    PersonForm(desk).save({"name": "C Vet"})
    assert "C Vet" in {p.name for p in desk.register().people.values()}


def test_numbers_lead_nowhere_before_the_practice_is_known(start):
    async def steps(keys):
        await keys.press("s", "escape", "1", "2")
        assert "There are no records here yet" in screen_text(keys.app)

    start(steps)


def test_a_store_begun_can_be_imported_into_all_the_same(start):
    async def steps(keys):
        await keys.press("s", "escape", "i")
        await keys.free_text(str(Path(__file__).parents[2] / "sample_cases"))
        await keys.press("enter")

    _, app = start(steps)
    assert len(app.desk.find_cases()) >= 20


def test_what_is_typed_ahead_finds_its_field_and_its_page(start):
    async def steps(keys):
        await keys.press("s")
        typed_ahead(keys.app, "Hill", "enter", "016", "enter", "enter", "enter", "lane", "enter",
                    "Vet", "enter", "R1")  # fmt: skip
        for _ in range(30):
            await keys.settle()
        answers = keys.app.screen.answers
        assert (answers["name"], answers["phone"], answers["address"]) == ("Hill", "016", "lane")
        assert (answers["person.1.name"], answers["person.1.licence"]) == ("Vet", "R1")

    start(steps)
