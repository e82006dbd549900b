"""A first visit at the truck: keys alone, few of them, and the record holds what was meant."""

from __future__ import annotations

import asyncio
import datetime as dt

import pytest
from conftest import NOW
from fakes import DeskWithTray
from keys import Keys
from shots import screen_text

from fieldnotes.domain.treatment import ClosureMethod, DeviceKind
from fieldnotes.domain.wounds import WoundKind
from fieldnotes.storage.casebook import Casebook
from fieldnotes.tui.forms.drafted import drafted
from fieldnotes.tui.forms.first_visit import FirstVisit
from fieldnotes.tui.forms.form import Reading

MOST_PRESSES = 60  # issue 2, "Show"


@pytest.fixture(autouse=True)
def _cases_first(monkeypatch):
    """These are about forms: the round of the day need not be planned first."""
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "cases")


@pytest.fixture
def visiting(app):
    """Open a first visit of a horse, found by part of its name, and go through steps of it."""

    def run(horse, steps, size=(80, 24)):
        async def go():
            async with app.run_test(size=size) as pilot:
                keys = Keys(app, pilot)
                await keys.settle()
                await keys.press("n")
                await keys.type(horse)
                await keys.press("enter")
                await steps(keys)

        asyncio.run(go())

    return run


async def write_first_visit(keys: Keys) -> None:
    """Known horse, one wound, primary closure with drain, foam and bandage, two drugs."""
    await keys.press("n")
    await keys.type("bra")
    await keys.press("enter")
    await keys.type("3h")
    await keys.press("enter")
    await keys.free_text("wire")
    await keys.press("pagedown")
    await keys.type("lh can d")
    await keys.press("enter")
    await keys.type("8x3")
    await keys.press("pagedown", "y", "enter", "enter")
    await keys.press("p", "enter", "d", "enter", "enter", "d", "pagedown")
    await keys.free_text("foam dressing")
    await keys.press("pagedown")
    await keys.type("penic")
    await keys.press("enter", "pagedown")
    await keys.type("flun")
    await keys.press("enter")


def test_a_standard_first_visit_takes_at_most_sixty_presses_besides_free_text(
    app, desk_and_drafts, capsys
):
    desk, drafts = desk_and_drafts
    before = {c.ref for c in desk.find_cases()}

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await write_first_visit(keys)
            await keys.press("ctrl+s")
            assert "saved 10:30" in screen_text(app)
            await keys.press("h")
            return keys.count

    presses = asyncio.run(go())
    with capsys.disabled():
        print(f"\nfirst visit: {presses} key presses besides free text")
    assert presses <= MOST_PRESSES
    [new] = [c for c in desk.find_cases() if c.ref not in before]
    assert desk.tray == (new.ref,)
    case = desk.case(new.ref)
    [visit] = [v.body for v in case.visits]
    [wound], [finding], [care] = case.wounds, visit.findings, visit.care
    assert (new.horse, wound.region) == ("Bramble", "left.hind.metatarsus.dorsal")
    assert wound.kind is WoundKind.LACERATION
    assert (finding.length_mm, finding.width_mm) == (80.0, 30.0)
    assert care.closure.method is ClosureMethod.PRIMARY
    assert [d.kind for d in care.placed] == [DeviceKind.DRAIN]
    assert care.bandage.layers[0].material == "foam dressing"
    assert [d.name for d in visit.given] == ["procaine penicillin", "flunixin"]
    assert all(d.amount for d in visit.given)
    assert drafts.list() == ()


def test_an_impossible_size_is_said_under_the_field_and_kept(app, visiting):
    async def steps(keys):
        await keys.press("pagedown")
        await keys.type("lh can d")
        await keys.press("enter")
        await keys.type("400x3")
        await keys.press("ctrl+s")
        shown = screen_text(app)
        assert "length 400 cm cannot be right" in shown
        assert "400x3" in shown

    visiting("bra", steps)


def test_what_was_typed_is_offered_again_after_a_dead_battery(store, desk_and_drafts):
    from fieldnotes.tui.app import FieldnotesApp

    async def type_and_leave():
        app = FieldnotesApp(*desk_and_drafts)
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("n")
            await keys.type("bra")
            await keys.press("enter", "enter", "w", "i", "r", "e")
            await keys.press("escape")

    async def come_back():
        app = FieldnotesApp(*desk_and_drafts)
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            assert "Not saved yet" in screen_text(app)
            await keys.press("u")
            shown = screen_text(app)
            assert "Bramble" in shown
            assert "wire" in shown
            await keys.press("escape")
            for draft in app.drafts.list():  # as a save does
                app.discard_draft(draft.id)
            await keys.press("2", "1")
            assert "Not saved yet" not in screen_text(app)

    asyncio.run(type_and_leave())
    asyncio.run(come_back())


def test_a_resize_in_the_middle_loses_nothing(app, visiting):
    async def steps(keys):
        await keys.press("enter", "w", "i", "r", "e")
        for size in ((60, 20), (80, 24)):
            await keys.pilot.resize_terminal(*size)
            await keys.settle()
        assert "wire" in screen_text(app)
        assert app.focused is not None

    visiting("bra", steps, (120, 40))


def test_the_map_of_a_second_wound_shows_the_first_and_those_of_earlier_cases(app, visiting):
    async def steps(keys):
        await keys.press("pagedown")
        await keys.type("right chest wall")
        await keys.press("enter", "pagedown", *["down"] * 11, "y")
        await keys.type("right croup")
        await keys.press("enter", "f3")
        shown = screen_text(app)
        assert "a: 2025, a: 2026" in shown  # healed in December 2025; an open case
        letters = [line for line in shown.splitlines()[:17] if "A" in line]
        assert len(letters) == 1

    visiting("brind", steps)


def test_the_map_opens_at_a_region_typed_and_not_accepted_yet(app, visiting):
    async def steps(keys):
        await keys.press("pagedown")
        await keys.type("right chest wall")
        await keys.press("f3")
        assert "right chest wall" in screen_text(app).casefold()
        await keys.press("escape")
        assert "right chest wall" in screen_text(app).casefold()

    visiting("brind", steps)


@pytest.mark.parametrize("typed", ["4h", "yesterday", "06:30", "", "2026-03-02"])
def test_a_draft_taken_up_the_next_day_keeps_its_times(store, typed):
    def opened(now: dt.datetime) -> FirstVisit:
        return FirstVisit(DeskWithTray(Casebook(store), lambda: now))

    form, answers = opened(NOW), {"horse": "bramble", "injured_at": typed}
    kept = drafted(form, answers)
    later = opened(NOW + dt.timedelta(days=1, hours=3))
    meant, read = (f.about(Reading(f.panes(a), a)) for f, a in ((form, answers), (later, kept)))
    assert (read.injured_at, read.injured_about) == (meant.injured_at, meant.injured_about)
    assert Reading(later.panes(kept), kept).get("at") == NOW
    assert drafted(form, {"horse": " "}) == {}
