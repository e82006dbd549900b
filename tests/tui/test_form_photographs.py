"""Photographs named on a visit's page: chosen from a listing, checked at once, measured, kept."""

from __future__ import annotations

import asyncio
import math
import os

import pytest
from keys import Keys
from shots import screen_text

from fieldnotes.casework.album import Shot
from fieldnotes.casework.rulebook import RuleBook
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.pictures import Photograph
from fieldnotes.domain.wounds import Measuring
from fieldnotes.tui.fields.pictures import named, parts, pictures_field
from fieldnotes.tui.fields.sizes import SizeField, edge_answer
from fieldnotes.tui.forms.first_visit import FirstVisit
from fieldnotes.tui.forms.recheck import Recheck
from fieldnotes.tui.screens.trace_file import TraceFileScreen
from fieldnotes.tui.widgets.picture import PictureView
from tests.builders import a_finding, a_visit, an_opening
from tests.pictures import RULER, RULER_CM, WOUND_CM, edge, saved

TRUE_CM2 = math.pi / 4 * WOUND_CM[0] * WOUND_CM[1]


@pytest.fixture
def folder(tmp_path):
    place = tmp_path / "camera"
    (place / "older").mkdir(parents=True)
    for age, name in enumerate(("wound2.jpg", "wound1.JPG", "notes.txt", ".hidden.jpg")):
        (place / name).write_bytes(saved())
        os.utime(place / name, (1_000_000 - age, 1_000_000 - age))
    return place


def field(fault=lambda _: ""):
    return pictures_field("photos.A", fault)


def words(text):
    return [option.words for option in named(text)]


def test_a_path_lists_folders_then_pictures_the_newest_first(folder):
    assert words(f"{folder}/") == ["older/", "wound2.jpg", "wound1.JPG"]
    assert words(f"{folder}/WOUND1") == ["wound1.JPG"]
    assert words(f"{folder}/.h") == [".hidden.jpg"]
    assert words("") == words("/nowhere/x") == words("a\0b/") == []
    one = f"{folder}/wound2.jpg"
    assert words(f"{one}; wo") == ["wound2.jpg", "wound1.JPG"]
    assert parts(f"{one}; wound1.JPG;") == (one, f"{folder}/wound1.JPG")


def test_each_picture_is_checked_and_the_bad_one_is_named(folder):
    asked = []

    def fault(file):
        asked.append(file)
        return "this is no picture" if file.endswith("txt") else ""

    good = f"{folder}/wound2.jpg; wound1.JPG"
    assert field(fault).read(good) == (f"{folder}/wound2.jpg", f"{folder}/wound1.JPG")
    same = field(fault)
    assert same.echo(good) == same.echo(good) == "2 pictures, F9 measures"
    assert len(asked) == 2  # decoded once, however often the form asks
    for text, why in (("notes.txt", "notes.txt: this is no picture"), ("wound2.jpg", "twice")):
        with pytest.raises(RefusedInputError, match=why):
            field(fault).read(f"{folder}/wound2.jpg; {text}")


def test_a_traced_edge_is_kept_in_one_line_and_shown_in_words():
    size = SizeField(key="findings.A.size", label="Size")
    answer = edge_answer(((0.0, 0.0), (4.0, 0.0), (4.0, 3.0)))
    read = size.read(f"{answer}; 5 mm deep")
    assert (read.area_cm2, read.measuring, read.depth_mm) == (6.0, Measuring.TRACING, 5)
    assert read.outline_cm == ((0, 0), (4, 0), (4, 3))
    assert size.shown(answer) == "traced, 3 points"
    assert "6.0 cm2 (tracing)" in size.echo(answer)


def test_pictures_and_visit_are_kept_together_or_not_at_all(desk_and_drafts, folder):
    desk = desk_and_drafts[0]
    horse = next(iter(desk.register().horses.values()))
    now = desk.now()
    opened = an_opening(horse=horse.id, premises=horse.premises, injured_at=now, responsible="")
    visit = a_visit(now, findings=(a_finding(),))
    before = len(desk.find_cases())
    bad = (Shot(f"{folder}/wound2.jpg", "A"), Shot(f"{folder}/notes.txt", "A"))
    (folder / "notes.txt").write_text("no picture")
    with pytest.raises(RefusedInputError, match=r"notes\.txt: .*no JPEG") as refused:
        desk.open_case(opened, visit, None, bad)
    assert refused.value.field == "photos.A"
    assert len(desk.find_cases()) == before
    saved_case = desk.open_case(opened, visit, None, bad[:1])
    (photo,) = desk.album.list(saved_case.ref)
    assert photo.picture.wound == "A"
    kinds = [type(e.body) for e in desk.case(saved_case.ref).entries]
    assert kinds[-1] is Photograph
    again = Recheck(desk, saved_case.ref)
    problems = again.problems({"photos.A": f"{folder}/wound2.jpg", "at": "now"})
    assert [p.field for p in problems] == ["photos.A"]
    assert "in the case already" in problems[0].message


def test_a_wound_is_measured_on_a_picture_from_the_page_of_a_recheck(app, folder):
    ref = "k7m2q"

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            app.open_case(ref)
            await keys.settle()
            await keys.press("v", "pagedown", "f9")
            assert "name a photograph first" in screen_text(app)
            await keys.free_text(f"{folder}/wo")
            assert "> wound2.jpg" in screen_text(app)
            await keys.press("down", "enter", "f9")
            assert isinstance(app.screen, TraceFileScreen)
            view = app.screen.query_one(PictureView)
            for point in RULER:
                view.cross = point
                app.screen.action_place()
            await keys.settle()
            await keys.type(f"{RULER_CM:g}")
            await keys.press("enter")
            for point in edge(24):
                view.cross = point
                app.screen.action_place()
            await keys.press("s", "s")
            assert "traced, 24 points" in screen_text(app)
            await keys.press("enter", "g", "l", "1", "ctrl+s")
            await keys.settle()
            assert "saved" in screen_text(app)

    asyncio.run(go())
    _, found = app.desk.case(ref).findings("A")[-1]
    assert found.area_cm2 == pytest.approx(TRUE_CM2, rel=0.03)
    assert len(found.outline_cm) == 24
    assert [p.picture.wound for p in app.desk.album.list(ref)] == ["A"]


def test_a_wound_some_days_old_is_asked_for_what_a_fresh_one_cannot_have(desk_and_drafts):
    form = FirstVisit(desk_and_drafts[0])

    def asked(injured):
        pane = next(p for p in form.panes({"injured_at": injured}) if p.id == "wound-A")
        assert len(pane.fields) <= 15
        return {f.key.removeprefix("findings.A.") for f in pane.fields}

    late = {"phase", "tract", "undermined_mm", "epithelial_rim", "granulation_grade"}
    assert late <= asked("6d")
    assert not late & asked("4h")
    first = form.panes({"injured_at": "8h"})[0].fields
    injured = next(f for f in first if f.key == "injured_at")
    assert injured.echo("8h").startswith("8 h ago, class 2; ")
    assert injured.echo("8h").endswith("; significant contamination")


def test_two_sides_are_read_as_the_practice_does_unless_the_wound_was_read_otherwise(
    desk_and_drafts,
):
    desk = desk_and_drafts[0]

    def size_of(form):
        panes = {p.id: p for p in form.panes({"injured_at": "4h"})}
        return panes["wound-A"].fields[1 if isinstance(form, FirstVisit) else 0]

    assert size_of(FirstVisit(desk)).echo("8x3").startswith("18.8 cm2 (ellipse)")
    RuleBook(desk).settle("measuring", "rectangle", "our custom")
    assert size_of(FirstVisit(desk)).echo("8x3").startswith("24.0 cm2 (rectangle)")
    assert size_of(FirstVisit(desk)).echo("8x3 oval").startswith("18.8 cm2 (ellipse)")
    assert size_of(Recheck(desk, "k7m2q")).echo("8x3").startswith("18.8 cm2 (ellipse)")
