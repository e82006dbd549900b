"""The controlled-drug register on screen: vials, doses not booked, and its forms by keys."""

from __future__ import annotations

import asyncio
import datetime as dt
from dataclasses import replace

import pytest
from conftest import NOW
from keys import Keys
from shots import screen_text

from fieldnotes.domain.entries import PracticeSet, Visit, VisitKind
from fieldnotes.domain.treatment import DrugGiven
from fieldnotes.domain.vials import Vial, VialCount, VialReceived
from fieldnotes.tui.forms.screen import FormScreen

CAME = NOW - dt.timedelta(hours=1)


@pytest.fixture
def desk(desk_and_drafts, monkeypatch):
    """A practice under US law with one vial, a count that is off, and a dose not booked."""
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "vials")
    desk = desk_and_drafts[0]
    desk.save(PracticeSet(replace(desk.practice(), jurisdiction="US")))
    vial = Vial(
        "V1", "butorphanol", "butorphanol", 10.0, "mg", 10.0, "B[7]", dt.date(2027, 1, 31),
        CAME, "Wholesaler",
    )  # fmt: skip
    desk.pharmacy.write(VialReceived(vial))
    case = desk.find_cases(status="open")[0].ref
    dose = DrugGiven(
        "butorphanol", "butorphanol", "IV", 5.0, "mg", NOW, volume_ml=0.5, reason="field dose"
    )
    desk.record(case, Visit(VisitKind.RECHECK, NOW, given=(dose,)))
    return desk


def run(app, script, size=(80, 24)):
    async def go():
        async with app.run_test(size=size) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await script(keys)
            return screen_text(app)

    return asyncio.run(go())


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_what_is_open_and_what_is_off_stands_first_with_its_amount_and_since_when(desk, app, size):
    desk.pharmacy.write(VialCount("V1", 9.5, NOW, "ruth"))

    async def look(keys):
        await keys.press("home")

    seen = run(app, look, size)
    assert "not booked, 1 off" in seen
    assert "! V1" in seen
    assert "0.5 mL less than reckoned" in " ".join(seen.split())
    assert "B[7]" in seen


def test_enter_on_a_dose_not_booked_books_it_from_a_vial(desk, app):
    async def book(keys):
        await keys.press("end", "enter")
        assert isinstance(keys.app.screen, FormScreen), screen_text(keys.app)
        await keys.press("v", "ctrl+s")

    run(app, book)
    assert desk.pharmacy.account("V1").balance_ml == 9.5
    assert not [x for x in desk.pharmacy.open_doses() if x.at == NOW]


def test_waste_without_a_witness_is_told_at_the_witness(desk, app):
    async def waste(keys):
        await keys.press("home", "w", "1", "ctrl+s")

    seen = run(app, waste)
    assert "Witness" in seen
    assert "this is needed" in seen
    assert desk.pharmacy.account("V1").balance_ml == 10


def test_a_vial_is_received_drawn_from_counted_and_corrected_by_keys(desk, app):
    async def steps(keys):
        await keys.press("n")
        await keys.free_text("ketam")
        await keys.press("enter")
        await keys.type("100")
        await keys.press("enter", "enter")
        await keys.type("10")
        await keys.press("enter")
        await keys.free_text("B8")
        await keys.press("enter")
        await keys.free_text("2027-06-30")
        await keys.press("enter", "enter")
        await keys.free_text("Wholesaler")
        await keys.press("ctrl+s")
        await keys.press("home", "down", "d")
        await keys.type("2.5")
        await keys.press("enter")
        await keys.free_text("yard cat")
        await keys.press("ctrl+s")
        await keys.press("c")
        await keys.type("7.4")
        await keys.press("ctrl+s")
        await keys.press("x", "3")
        await keys.type("2.6")
        await keys.press("enter", "enter", "enter")
        await keys.free_text("misread")
        await keys.press("ctrl+s")

    seen = run(app, steps)
    account = desk.pharmacy.account("V2")
    assert [x.what for x in account.lines] == ["received", "drawn", "counted"], seen
    assert (account.balance_ml, account.discrepancy) == (7.4, None), seen


def test_the_visit_form_asks_which_vial_and_books_the_draw(desk, app):
    async def visit(keys):
        await keys.press("2", "v")
        assert isinstance(keys.app.screen, FormScreen)
        while "Drug 1]" not in screen_text(keys.app):
            await keys.press("pagedown")
        await keys.free_text("butorph")
        await keys.press("enter")
        seen = screen_text(keys.app)
        assert "Vial" in seen, seen
        await keys.press("ctrl+s")
        assert "Vial: this is needed" in screen_text(keys.app), screen_text(keys.app)
        await keys.press("v", "ctrl+s")
        assert "how much came out of V1?" in screen_text(keys.app)
        await keys.type("6")
        await keys.press("ctrl+s")

    seen = run(app, visit, (120, 40))
    assert desk.pharmacy.account("V1").balance_ml == 9.4, seen
