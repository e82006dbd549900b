"""The handout preview: read as the owner will, graded, queued or saved only when told to."""

from __future__ import annotations

import asyncio
import errno
import os

import pytest
from keys import Keys
from shots import screen_text

from fieldnotes.casework.desk import Casework
from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.drafts import Drafts
from fieldnotes.storage.outbox import Outbox
from fieldnotes.tui.app import FieldnotesApp
from fieldnotes.tui.files import write_new
from fieldnotes.tui.forms.post_forms import contact, weight
from fieldnotes.tui.screens.handout import HandoutScreen, about
from fieldnotes.tui.screens.papers import PapersScreen
from fieldnotes.tui.screens.sheet import sheet_text


@pytest.fixture(autouse=True)
def no_route(monkeypatch):
    """The day's route is another test's; start where nothing is reckoned."""
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "outbox")


@pytest.fixture
def real(store):
    from conftest import NOW

    return FieldnotesApp(Casework(Casebook(store), lambda: NOW), Drafts(store / "drafts"))


def on_handout(app, ref, size, script, screen=HandoutScreen):
    async def go():
        async with app.run_test(size=size) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await app.push_screen(screen(ref))
            await keys.settle()
            await script(keys)

    asyncio.run(go())


def an_email_case(app, *, has):
    files = (app.desk.file(c.ref) for c in app.desk.find_cases(status="open"))
    return next(f.case.ref for f in files if f.owner and bool(f.owner.email) == has)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_the_sheet_is_shown_as_the_owner_reads_it_with_its_grade(real, size):
    ref = an_email_case(real, has=True)

    async def script(keys):
        shown = screen_text(real)
        assert "Reading grade" in shown
        assert "Call now" in shown
        assert "##" not in shown
        assert "**" not in shown

    on_handout(real, ref, size, script)


def test_what_is_missing_is_said_above_the_sheet(real):
    async def script(keys):
        assert "not known: email" in screen_text(real)

    on_handout(real, an_email_case(real, has=False), (80, 24), script)


def test_other_formats_follow_one_key_and_a_message_without_address_is_refused_in_words(
    real, monkeypatch
):
    monkeypatch.setattr("fieldnotes.casework.papers.pdf_bytes", lambda *_: b"%PDF")  # its own tests

    async def script(keys):
        await keys.press("f")
        assert "## Call now" in screen_text(real)
        await keys.press("f", "f")
        assert "<!" in screen_text(real) or "<html" in screen_text(real)
        await keys.press("f")
        assert "A PDF of" in screen_text(real)
        await keys.press("f")
        assert "email" in screen_text(real).split("\n")[-2]

    on_handout(real, an_email_case(real, has=False), (80, 24), script)


def test_saving_writes_a_new_file_and_never_over_an_old_one(real, tmp_path):
    ref = an_email_case(real, has=True)
    target = tmp_path / "sheet.md"

    async def script(keys):
        await keys.press("s")
        field = real.screen.query_one("#path")
        field.value = str(target)
        await keys.press("enter")
        assert target.read_bytes() == real.desk.post.handout(ref, "markdown")
        await keys.press("s")
        field.value = str(target)
        await keys.press("enter")
        assert "is there already" in screen_text(real)

    on_handout(real, ref, (120, 40), script)


def test_a_file_that_cannot_be_written_is_told_in_words(tmp_path):
    with pytest.raises(StoreError, match="No such file"):
        write_new(tmp_path / "nowhere" / "sheet.md", b"x")


def test_markup_in_the_record_stays_text_in_the_sheet():
    text = sheet_text("# [/] \\[L hind\\]\n\n- [@click=app.quit]x[/]\n\n<b>bold</b>\n", 60).plain
    assert "[/] [L hind]" in text
    assert "- [@click=app.quit]x[/]" in text
    assert "<b>bold</b>" in text


def test_a_table_stays_within_the_width_and_loses_no_word():
    what = "Look at the bandage or wound and at the horse, morning and evening, each day."
    table = f"| When | Who | What |\n|---|---|---|\n| Wed 25 November | You | {what} |\n"
    lines = sheet_text(table, 60).plain.split("\n")
    assert max(map(len, lines)) <= 60
    column = "".join(line[22:] for line in lines[1:]).split()
    assert "".join(column).replace("You", "") == what.replace(" ", "")


def test_a_hard_sheet_says_so_with_its_hardest_sentence(real):
    from fieldnotes.rendering.readability import grade

    hard = "Epithelialisation necessitates uncompromised granulation irrespective of contamination."
    words = about(grade(hard), ("email",), 80).plain
    assert "! Reading grade" in words
    assert "fail" in words
    assert "Epithelialisation" in words
    assert "not known: email" in words


def test_every_paper_of_a_case_is_read_saved_and_queued_by_keys(store, tmp_path):
    from conftest import NOW

    box = Outbox(store)
    desk = Casework(Casebook(store), lambda: NOW, mail=box)
    real = FieldnotesApp(desk, Drafts(store / "drafts"))
    ref = an_email_case(real, has=True)
    target = tmp_path / "case.zip"

    async def script(keys):
        shown = screen_text(real)
        for words in ("Owner's handout", "Referral letter", "Case report", "Drug labels", "Signed"):
            assert words in shown
        await keys.press("down", "enter")
        assert "Referral letter" in screen_text(real)
        assert "Who to call" in screen_text(real)
        await keys.press("o")
        await keys.type("clinic@example.org")
        await keys.press("enter")
        assert "in the outbox for clinic@example.org" in screen_text(real)
        await keys.press("escape", "end", "enter")
        assert "compare with the colleague" in screen_text(real)
        await keys.press("s")
        real.screen.query_one("#path").value = str(target)
        await keys.press("enter")
        assert target.read_bytes().startswith(b"PK")

    on_handout(real, ref, (80, 24), script, PapersScreen)
    assert [m.recipients for m in box.list()] == [("clinic@example.org",)]


def test_what_is_missing_is_filled_in_from_the_preview(real):
    ref = an_email_case(real, has=False)

    async def script(keys):
        await keys.press("c")
        assert "Contact: " in screen_text(real)
        await keys.press("escape")

    on_handout(real, ref, (80, 24), script)
    desk = real.desk
    contact(desk, ref).save({"phone": "01632 960111", "email": "new@example.org"})
    weight(desk, ref).save({"weight_kg": "487", "weight_by": "scale"})
    file = desk.file(ref)
    assert (file.owner.email, file.horse.weight().kg) == ("new@example.org", 487)


def test_a_full_disk_leaves_no_half_file(tmp_path, monkeypatch):
    """fsync reports what a full disk could not take, the write itself may not."""

    def full(_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    path = tmp_path / "sheet.md"
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(StoreError, match="nothing was written"):
            write_new(path, b"x")
    assert not path.exists()
    write_new(path, b"x")
    assert path.read_bytes() == b"x"
