"""The short forms: opened by their key, refused at the field, saved."""

from __future__ import annotations

import asyncio

import pytest
from keys import Keys
from shots import screen_text

from fieldnotes.domain.agreements import ConsentKind
from fieldnotes.domain.entries import CaseEnd, Outcome, ReferralState, Visit, VisitKind
from fieldnotes.domain.urgency import Urgency
from fieldnotes.domain.wounds import Finding
from fieldnotes.tui.app import FieldnotesApp
from fieldnotes.tui.forms.catalogue import FORMS, opener
from fieldnotes.tui.forms.screen import FormScreen

CASES = "cases"


@pytest.fixture
def at_cases(monkeypatch):
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", CASES)


@pytest.fixture
def fill(desk_and_drafts, at_cases):
    """Open a form by its key on the first case of the list, and go through steps of it."""
    desk, drafts = desk_and_drafts

    def run(key: str, steps, size=(80, 24)) -> str:
        async def go() -> str:
            app = FieldnotesApp(desk, drafts)
            async with app.run_test(size=size) as pilot:
                keys = Keys(app, pilot)
                await keys.settle()
                await keys.press(key)
                assert isinstance(app.screen, FormScreen), screen_text(app)
                await steps(keys)
                return screen_text(app)

        return asyncio.run(go())

    return run


def chosen(desk) -> str:
    return desk.find_cases(status="open")[0].ref


def last_of(desk, kind):
    return [e for e in desk.case(chosen(desk)).entries if e.kind == kind][-1].body


def test_an_owner_s_report_is_judged_by_its_signs_and_the_vet_decides(fill, desk_and_drafts):
    desk, _ = desk_and_drafts

    async def steps(keys):
        await keys.press("enter", "enter")
        await keys.free_text("he will not stand on it [/]")
        await keys.press("enter", "c", "enter")
        assert "now" in screen_text(keys.app)
        await keys.press("ctrl+s")

    shown = fill("o", steps)
    assert "saved 10:30" in shown
    report = last_of(desk, "report")
    assert report.signs == ("cannot bear weight",)
    assert report.urgency is Urgency.NOW
    assert report.text == "he will not stand on it [/]"


def test_an_empty_report_is_refused_at_its_field(fill):
    async def steps(keys):
        await keys.press("ctrl+s")

    assert "what was reported?" in fill("o", steps)


def test_a_note_is_kept_as_it_was_written(fill, desk_and_drafts):
    desk, _ = desk_and_drafts

    async def steps(keys):
        await keys.press("ctrl+s")
        assert "this is needed" in screen_text(keys.app)
        await keys.free_text("owner says [L hind] looks fine")
        await keys.press("ctrl+s")

    assert "saved" in fill("t", steps)
    assert last_of(desk, "note").text == "owner says [L hind] looks fine"


def test_a_follow_up_is_moved_but_never_into_the_past(fill, desk_and_drafts):
    desk, _ = desk_and_drafts

    async def steps(keys):
        await keys.press("enter", "m", "enter")
        await keys.free_text("-3d")
        await keys.press("ctrl+s")
        assert "into the past" in screen_text(keys.app)
        assert "-3d" in screen_text(keys.app)
        await keys.free_text("+3d")
        await keys.press("ctrl+s")

    assert "saved" in fill("f", steps)
    outcome = last_of(desk, "followup")
    assert outcome.outcome is Outcome.MOVED
    assert (outcome.moved_to - desk.today()).days == 3


def test_a_follow_up_is_done_or_missed(fill, desk_and_drafts):
    desk, _ = desk_and_drafts

    async def missed(keys):
        await keys.press("enter", "i", "ctrl+s")

    assert "saved" in fill("f", missed)
    assert last_of(desk, "followup").outcome is Outcome.MISSED


def test_a_discharge_lies_between_the_injury_and_today(fill, desk_and_drafts):
    desk, _ = desk_and_drafts
    ref = chosen(desk)

    async def steps(keys):
        await keys.press("d")
        await keys.free_text("2020-01-01")
        await keys.press("ctrl+s")
        assert "between the injury and today" in screen_text(keys.app)
        await keys.free_text("today")
        await keys.press("ctrl+s")

    assert "saved" in fill("e", steps)
    assert desk.case(ref).entries[-1].body.end is CaseEnd.DISCHARGED


def test_a_death_withdraws_every_task(fill, desk_and_drafts):
    desk, _ = desk_and_drafts
    ref = chosen(desk)

    async def steps(keys):
        await keys.press("enter", "y")
        await keys.free_text("fracture")
        await keys.press("ctrl+s")

    assert "saved" in fill("D", steps)
    assert desk.case(ref).entries[-1].body.cause == "fracture"
    assert all(line.task.case != ref for line in desk.due(days=60))


def test_a_referral_says_where_it_stands_and_to_whom(fill, desk_and_drafts):
    desk, _ = desk_and_drafts

    async def steps(keys):
        await keys.press("a", "enter")
        await keys.free_text("the hospital")
        await keys.press("ctrl+s")

    assert "saved" in fill("R", steps)
    found = last_of(desk, "referral")
    assert (found.state, found.to) == (ReferralState.ACCEPTED, "the hospital")


def test_a_hold_and_a_consent_are_entries_too(fill, desk_and_drafts):
    desk, _ = desk_and_drafts

    async def on_hold(keys):
        await keys.press("y", "enter")
        await keys.free_text("owner away")
        await keys.press("ctrl+s")

    async def agreed(keys):
        await keys.press("d", "enter", "ctrl+s")
        assert "this is needed" in screen_text(keys.app)
        await keys.free_text("synovial sample")
        await keys.press("ctrl+s")

    assert "saved" in fill("H", on_hold)
    assert last_of(desk, "hold").reason == "owner away"
    assert "saved" in fill("C", agreed)
    found = last_of(desk, "consent")
    assert (found.kind, found.what) == (ConsentKind.DECLINED, "synovial sample")


def test_an_amendment_stands_beside_the_entry_it_corrects(fill, desk_and_drafts):
    desk, _ = desk_and_drafts
    before = desk.case(chosen(desk)).entries

    async def steps(keys):
        await keys.press("enter")
        await keys.free_text("left, not right")
        await keys.press("ctrl+s")
        assert "this is needed" in screen_text(keys.app)
        await keys.free_text("slip of the pen")
        await keys.press("ctrl+s")

    assert "saved" in fill("A", steps)
    after = desk.case(chosen(desk)).entries
    assert after[: len(before)] == before
    assert after[-1].body.of == before[-1].id


def test_a_place_has_a_latitude_on_this_earth(fill, desk_and_drafts):
    desk, _ = desk_and_drafts

    async def steps(keys):
        await keys.free_text("New Yard")
        await keys.press("enter", "enter")
        await keys.free_text("95, -1.2")
        await keys.press("ctrl+s")
        assert "latitude 95 is not within" in screen_text(keys.app)
        await keys.free_text("54.5, -1.2")
        await keys.press("ctrl+s")

    assert "saved" in fill("P", steps)
    place = next(p for p in desk.register().premises.values() if p.name == "New Yard")
    assert (place.position.lat, place.position.lon) == (54.5, -1.2)


def test_an_owner_and_then_their_horse_join_the_register(fill, desk_and_drafts):
    desk, _ = desk_and_drafts

    async def owner(keys):
        await keys.free_text("Ada Byland")
        await keys.press("enter", "enter")
        await keys.free_text("not an address")
        await keys.press("ctrl+s")
        assert "not an address" in screen_text(keys.app)
        await keys.free_text("ada@example.org")
        await keys.press("ctrl+s")

    async def horse(keys):
        await keys.free_text("Newcomer")
        await keys.press("enter", "d")
        await keys.type("ada b")
        await keys.press("enter")
        await keys.type("skelder")
        await keys.press("enter", "ctrl+s")

    assert "saved" in fill("O", owner)
    assert "saved" in fill("N", horse)
    found = next(h for h in desk.register().horses.values() if h.name == "Newcomer")
    assert found.species == "donkey"
    assert desk.register().owners[found.parties[0].owner].name == "Ada Byland"


def test_a_colleague_who_signs_is_added(fill, desk_and_drafts):
    desk, _ = desk_and_drafts

    async def steps(keys):
        await keys.free_text("Nell Arden")
        await keys.press("enter", "n", "ctrl+s")

    assert "saved" in fill("V", steps)
    found = next(p for p in desk.register().people.values() if p.name == "Nell Arden")
    assert found.role == "nurse"


def test_the_practice_is_changed_in_place(fill, desk_and_drafts):
    desk, _ = desk_and_drafts

    async def steps(keys):
        await keys.press("enter")
        await keys.free_text("01632 960999")
        await keys.press("ctrl+s")

    assert "saved" in fill("ctrl+r", steps)
    assert desk.practice().phone == "01632 960999"


@pytest.fixture
def flagged(desk_and_drafts):
    """Give the first case of the list with a wound that is undermined."""
    desk, _ = desk_and_drafts
    ref = chosen(desk)
    label = desk.file(ref).wounds[0].wound.label
    seen = Finding(label, 40, 30, undermined_mm=25)
    desk.record(ref, Visit(VisitKind.RECHECK, desk.now(), findings=(seen,)))
    return ref


def test_a_flag_is_answered_with_a_reason(fill, desk_and_drafts, flagged):
    desk, _ = desk_and_drafts
    before = len(desk.file(flagged).wounds[0].flags)

    async def steps(keys):
        await keys.press("enter", "w")
        await keys.press("ctrl+s")
        assert "this is needed" in screen_text(keys.app)
        await keys.free_text("filling from below")
        await keys.press("ctrl+s")

    assert "saved" in fill("F", steps)
    answer = last_of(desk, "answer")
    assert (answer.answer, answer.reason) == ("wait", "filling from below")
    wound = desk.file(flagged).wounds[0]
    assert (len(wound.flags), len(wound.answered)) == (before - 1, 1)


def test_a_death_leads_to_the_list_of_what_it_withdrew(fill):
    async def steps(keys):
        await keys.press("ctrl+s")

    shown = fill("D", steps, (120, 40))
    assert "What this changed" in shown
    assert "the horse died" in shown


# These are about a vial, a drug, a stop, a rule or a raised flag, not about a case.
ABOUT_ELSE = ("vial_", "own_", "road_", "rule", "dispute", "flag_answer")


@pytest.mark.parametrize("name", sorted(n for n in FORMS if not n.startswith(ABOUT_ELSE)))
def test_every_form_gives_at_most_fifteen_fields_a_page_and_reads_its_own_defaults(
    desk_and_drafts, name
):
    desk, _ = desk_and_drafts
    form = opener(name)(desk, chosen(desk))
    for pane in form.panes({}):
        assert 1 <= len(pane.fields) <= 15
        for field in pane.fields:
            if field.default:
                field.read(field.default)
