"""The case sheet: everything recorded can be read, and each part can be made large."""

from __future__ import annotations

import asyncio
import datetime as dt

import pytest
from keys import Keys
from shots import screen_text

from fieldnotes.casework.charts import course_chart
from fieldnotes.casework.drawings import earlier_cases
from fieldnotes.domain.entries import Hold
from fieldnotes.knowledge.bodymap import load_view, views_of
from fieldnotes.tui.app import FieldnotesApp
from fieldnotes.tui.screens.case import CaseScreen
from fieldnotes.tui.screens.case_words import header, plan_text, wounds_text
from fieldnotes.tui.screens.timeline import timeline
from fieldnotes.tui.widgets.woundmap import marks_of

HOSTILE = "[/] [L hind] [@click=app.quit]x[/] \u202eabc a\x1b]52;c;x\x07b \U0001f40e"


@pytest.fixture(autouse=True)
def no_route(monkeypatch):
    """The day's route is another test's; start where nothing is reckoned."""
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "outbox")


def on_case(app, ref, size, script):
    async def go():
        async with app.run_test(size=size) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await app.push_screen(CaseScreen(ref))
            await keys.settle()
            await script(keys)

    asyncio.run(go())


def refs(desk):
    return [case.ref for case in desk.find_cases()]


def a_case_with(desk, wanted):
    return next(f for f in map(desk.file, refs(desk)) if wanted(f))


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_the_case_shows_who_it_is_about_and_what_is_planned(app, size):
    file = a_case_with(app.desk, lambda f: f.plan and f.owner and f.owner.phone)

    async def script(keys):
        shown = screen_text(app)
        for word in (file.horse.name, file.owner.name, file.owner.phone, file.premises.name):
            assert word in shown
        assert file.wounds[0].region.standard_name in shown
        assert "Plan" in shown
        assert ("Timeline" in shown.split("Plan")[1].split("h Handout")[0]) == (size[0] > 100)

    on_case(app, file.case.ref, size, script)


def test_one_key_makes_a_part_large_and_escape_puts_it_back(app):
    async def script(keys):
        before = screen_text(app)
        for key in "mwgpl":
            await keys.press(key)
            large = [p for p in app.screen.query(".panel") if p.display and p.size.height]
            assert len(large) == 1
            assert large[0].has_focus
            assert large[0].outer_size.height >= 18
            await keys.press("escape")
            assert screen_text(app) == before
        await keys.press("escape")
        assert app.screen.NAME == "outbox"

    on_case(app, refs(app.desk)[0], (80, 24), script)


def test_what_is_not_known_is_said(desk_and_drafts):
    desk = desk_and_drafts[0]
    file = a_case_with(desk, lambda f: f.missing)
    text = header(file, desk.today(), 78).plain
    assert "? not known" in text
    assert all(word in text for word in file.missing)


def test_a_flag_stands_with_its_urgency_in_words_and_its_source(desk_and_drafts):
    file = a_case_with(desk_and_drafts[0], lambda f: any(w.flags for w in f.wounds))
    flag = next(flag for w in file.wounds for flag in w.flags)
    text = " ".join(wounds_text(file, 100, full=True).plain.split())
    assert f"{flag.urgency.value}: {flag.flag.replace('_', ' ')}" in text
    assert " ".join(flag.source.split()) in text


def test_a_large_plan_gives_window_reason_and_source(desk_and_drafts):
    desk = desk_and_drafts[0]
    file = a_case_with(desk, lambda f: f.plan)
    text = " ".join(plan_text(file, desk.today(), 110, full=True).plain.split())
    for task in file.plan:
        assert task.what[:40] in text
        assert " ".join(task.reason.split())[:60] in text
        assert f"{task.earliest:%d %b} - {task.due:%d %b} - {task.latest:%d %b}" in text


def test_the_newest_entry_comes_first_and_none_is_left_out(desk_and_drafts):
    desk = desk_and_drafts[0]
    for ref in refs(desk):
        case = desk.case(ref)
        text = timeline(case, {}, dt.UTC, 100).plain
        stamps = [
            dt.datetime.strptime(line[:17].strip(), "%d %b %Y %H:%M").replace(tzinfo=dt.UTC)
            for line in text.split("\n")
            if line[3:4].isalpha() and line[:2].strip().isdigit() and line[13:14].isdigit()
        ]
        assert stamps == sorted(stamps, reverse=True)
        assert len(stamps) == len(case.entries) - len(case.amendments)


def test_an_amendment_stands_beneath_what_it_amends_and_the_first_text_stays(desk_and_drafts):
    desk = desk_and_drafts[0]
    ref = refs(desk)[0]
    desk.note(ref, "left fore, 3 cm")
    note = desk.case(ref).notes[-1].entry
    desk.note(ref, "something else said later")
    desk.amend(ref, note.id, "it is the right fore", "sides mixed up")
    text = timeline(desk.case(ref), {}, dt.UTC, 100).plain
    first, fix = text.index("left fore, 3 cm"), text.index("it is the right fore")
    assert first < fix
    assert "something else" not in text[first:fix]
    assert "sides mixed up" in text


def test_a_note_is_shown_as_written_without_what_could_steer_the_terminal(app):
    ref = refs(app.desk)[0]
    app.desk.note(ref, HOSTILE + "\n" + "y" * 10_000)

    async def script(keys):
        await keys.press("l")
        shown = screen_text(app)
        for words in ("[/]", "[L hind]", "[@click=app.quit]x[/]"):
            assert words in shown
        assert not set("\x1b\x07\u202e") & set(shown)
        await keys.press("down", "pagedown", "end")
        assert app.is_running

    on_case(app, ref, (80, 24), script)


def test_the_chart_holds_every_measured_day(desk_and_drafts):
    desk = desk_and_drafts[0]
    file = a_case_with(desk, lambda f: any(w.course and len(w.course.points) > 2 for w in f.wounds))
    chart = course_chart(file, desk.knowledge.healing)
    drawn = {line.label: line.points for line in chart.lines}
    for wound in file.wounds:
        if wound.course:
            days = [day for day, _ in drawn[f"wound {wound.wound.label}"]]
            assert days == [p.day for p in wound.course.points]


def test_a_form_opens_from_the_case_and_the_case_shows_what_was_saved(app):
    async def script(keys):
        await keys.press("t")
        assert app.screen.NAME == "form"
        await keys.free_text("seen at the gate")
        await keys.press("ctrl+s")
        await keys.settle()
        assert app.screen.NAME == "case"
        await keys.press("l")
        assert "seen at the gate" in screen_text(app)

    on_case(app, refs(app.desk)[0], (80, 24), script)


def test_without_colour_the_case_is_drawn_in_characters(desk_and_drafts, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    app = FieldnotesApp(*desk_and_drafts)

    async def script(keys):
        await keys.press("m")
        shown = screen_text(app)
        assert sum("\u2800" < char <= "\u28ff" for char in shown) > 60
        assert not set(shown) & set("\u2580\u258c\u2598")

    on_case(app, refs(app.desk)[0], (80, 24), script)


def test_a_wound_that_shrank_is_drawn_over_the_faint_outline_of_its_largest_size(desk_and_drafts):
    desk = desk_and_drafts[0]
    files = [desk.file(ref) for ref in refs(desk)]
    shrunk = 0
    for wound in (w for file in files for w in file.wounds):
        view = load_view(views_of(wound.wound.region)[0])
        *past, now = marks_of(wound, view, stitched=True)
        sizes = [f.length_mm * f.width_mm for _, f in wound.findings if f.length_mm and f.width_mm]
        if sizes and wound.last.length_mm and max(sizes) > sizes[-1]:
            shrunk += 1
            assert [(m.past, m.faint, m.sign) for m in past] == [(True, True, "")]
            assert past[0].length_mm * past[0].width_mm == max(sizes)
        assert not now.past
        assert now.state != "open"
    assert shrunk


def test_wounds_of_earlier_cases_of_the_horse_are_on_its_map_and_later_ones_are_not(
    app, desk_and_drafts
):
    desk = desk_and_drafts[0]
    later, earlier = desk.cases_of("brindley")
    assert {line.horse for line in (later, earlier)} == {"brindley"}
    assert desk.cases_of("nobody") == ()
    year = f"a: {desk.case(earlier.ref).opened_at:%Y}"

    async def script(keys):
        await keys.press("m")
        assert year in screen_text(app)

    on_case(app, later.ref, (80, 24), script)
    assert earlier_cases(desk, "brindley", earlier.injured_at) == ()


def test_a_case_on_hold_lists_what_it_withdrew(desk_and_drafts):
    desk = desk_and_drafts[0]
    file = a_case_with(desk, lambda f: len(f.plan) > 1)
    desk.record(file.case.ref, Hold(on_hold=True, on=desk.today()))
    gone = desk.aftercare.withdrawn(file.case.ref)
    held = desk.file(file.case.ref)
    text = plan_text(held, desk.today(), 110, full=False, gone=gone).plain
    assert "Withdrawn:" in text
    assert all(task.what in text for task in gone)
    assert len(gone) == len(file.plan)


def test_the_number_key_of_its_list_leads_from_a_case_back_to_the_list(app):
    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("2", "enter")
            assert isinstance(app.screen, CaseScreen)
            await keys.press("2", "slash")
            await keys.type("pim")
            assert screen_text(app).split("\n")[0].strip() == "Cases   1 open case"

    asyncio.run(go())
