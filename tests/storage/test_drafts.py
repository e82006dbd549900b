"""A form being filled in survives a dead battery."""

from __future__ import annotations

import pytest

from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.drafts import Drafts

HOSTILE = "[/] \u202e 8x3 \U0001f40e"


def test_what_was_typed_is_found_again_by_another_process(tmp_path):
    answers = {"horse": "bram", "history": HOSTILE}
    Drafts(tmp_path / "drafts").save("new-1", "first_visit", "", "New case", "2025-06-02", answers)
    [found] = Drafts(tmp_path / "drafts").list()
    assert found.answers == answers
    assert (found.form, found.title) == ("first_visit", "New case")


def test_the_last_changed_draft_is_offered_first(tmp_path):
    drafts = Drafts(tmp_path)
    drafts.save("a", "note", "c1", "Note", "2025-06-02T09:00", {"text": "x"})
    drafts.save("b", "note", "c2", "Note", "2025-06-02T10:00", {"text": "y"})
    assert [d.id for d in drafts.list()] == ["b", "a"]


def test_a_saved_form_leaves_no_draft(tmp_path):
    drafts = Drafts(tmp_path)
    drafts.save("a", "note", "c1", "Note", "2025-06-02", {})
    drafts.discard("a")
    drafts.discard("a")
    assert drafts.list() == ()
    assert drafts.load("a") is None


def test_a_damaged_draft_is_left_alone_and_the_others_are_offered(tmp_path):
    drafts = Drafts(tmp_path)
    drafts.save("good", "note", "c1", "Note", "2025-06-02", {"text": "kept"})
    (tmp_path / "torn.json").write_text('{"id": "torn", "ans')
    assert [d.id for d in drafts.list()] == ["good"]
    assert (tmp_path / "torn.json").exists()


def test_a_draft_cannot_be_written_outside_its_folder(tmp_path):
    with pytest.raises(StoreError):
        Drafts(tmp_path / "drafts").save("../../etc", "note", "", "", "", {})


def test_a_draft_is_readable_by_its_owner_only(tmp_path):
    Drafts(tmp_path).save("a", "note", "c1", "Note", "2025-06-02", {})
    assert (tmp_path / "a.json").stat().st_mode & 0o077 == 0
