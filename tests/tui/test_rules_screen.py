"""The follow-up rules on screen: read, changed, settled; the change stands in the plan."""

from __future__ import annotations

import asyncio

import pytest
from keys import Keys
from shots import screen_text

from fieldnotes.casework.rulebook import RuleBook
from fieldnotes.tui.forms.rule_forms import DisputeForm, RuleForm, new_rule


@pytest.fixture
def desk(desk_and_drafts, monkeypatch):
    monkeypatch.setattr("fieldnotes.tui.app.FIRST", "rules")
    return desk_and_drafts[0]


def run(app, script, size=(80, 24)):
    async def go():
        async with app.run_test(size=size) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await script(keys)
            return screen_text(app)

    return asyncio.run(go())


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_a_rule_is_changed_by_keys_and_needs_a_reason(desk, app, size):
    async def change(keys):
        assert "take the drain out" in screen_text(keys.app), screen_text(keys.app)
        await keys.press("enter", "l", "ctrl+s")
        assert "this is needed" in screen_text(keys.app), screen_text(keys.app)
        await keys.free_text("we use none")
        await keys.press("ctrl+s")

    seen = run(app, change, size)
    assert "x off" in seen, seen
    line = RuleBook(desk).rule("drain-out")
    assert (line.state, line.change.reason) == ("off", "we use none")


def test_a_window_out_of_order_is_refused_in_the_form_and_an_own_rule_is_added(desk):
    form = RuleForm(desk, "drain-out")
    assert "window_days" in form.problems({"due": "1", "reason": "x"})[0].message
    assert form.problems({"due": "4", "latest": "8", "reason": "x"}) == ()
    own = {
        "id": "own-hosing", "kind": "owner look", "what": "hose", "owner_words": "hose the leg",
        "anchor": "closed", "earliest": "2", "due": "2", "latest": "3", "by": "owner",
        "every": "1", "until": "5", "reason": "cold water",
    }  # fmt: skip
    new_rule(desk, "").save(own)
    assert RuleBook(desk).rule("own-hosing").state == "own"
    assert new_rule(desk, "").problems(own | {"id": ""})


def test_a_dispute_is_settled_by_its_form(desk):
    DisputeForm(desk, "dispute:drain").save({"choice": "late", "reason": "client instructions"})
    assert RuleBook(desk).disputes()[0].chosen.id == "late"
