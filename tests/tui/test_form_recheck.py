"""A recheck by keys: measure, look, say what was done, save."""

from __future__ import annotations

import asyncio

from keys import Keys
from shots import screen_text

from fieldnotes.domain.wounds import Phase
from fieldnotes.tui.forms.recheck import Recheck

MOST_PRESSES = 40


def test_a_recheck_takes_at_most_forty_presses_besides_free_text(app, desk_and_drafts, capsys):
    desk, _ = desk_and_drafts

    async def go():
        async with app.run_test(size=(80, 24)) as pilot:
            keys = Keys(app, pilot)
            await keys.settle()
            await keys.press("2")
            await keys.press("slash")
            await keys.type("bram")
            await keys.press("enter", "v", "pagedown")
            await keys.type("6x2")
            await keys.press("enter", "g", "l", "1")
            await keys.press("pagedown", "d", "ctrl+s")
            assert "saved 10:30" in screen_text(app)
            return keys.count

    ref = next(c.ref for c in desk.find_cases() if c.horse == "Bramble")
    before = len(desk.case(ref).visits)
    presses = asyncio.run(go())
    with capsys.disabled():
        print(f"\nrecheck: {presses} key presses besides free text")
    assert presses <= MOST_PRESSES
    visits = desk.case(ref).visits
    assert len(visits) == before + 1
    [finding] = visits[-1].body.findings
    assert (finding.length_mm, finding.phase) == (60.0, Phase.GRANULATING)
    assert finding.granulation_grade == 1
    assert visits[-1].body.care[0].removed == ("drain",)


def brambles_case(desk) -> str:
    return next(c.ref for c in desk.find_cases(status="open") if c.horse == "Bramble")


def test_a_wound_nobody_looked_at_is_not_recorded_as_found(desk_and_drafts):
    desk, _ = desk_and_drafts
    ref = brambles_case(desk)
    form = Recheck(desk, ref)
    answers = {"care.A.clipped": "yes"}
    assert "Wound A" not in "\n".join(form.summary(answers))
    form.save(answers)
    visit = desk.case(ref).visits[-1].body
    assert visit.findings == ()
    assert [care.wound for care in visit.care] == ["A"]


def test_what_was_found_last_time_is_carried_over_once_the_wound_is_measured(desk_and_drafts):
    desk, _ = desk_and_drafts
    ref = brambles_case(desk)
    before = desk.case(ref).findings("A")[-1][1]
    form = Recheck(desk, ref)
    answers = {"findings.A.size": "6x2"}
    fields = {f.key: f for p in form.panes(answers) for f in p.fields}
    phase = fields["findings.A.phase"]
    assert phase.echo(phase.default) == "as before"
    form.save(answers)
    [finding] = desk.case(ref).visits[-1].body.findings
    assert (finding.phase, finding.exudate, finding.granulation_grade) == (
        before.phase,
        before.exudate,
        before.granulation_grade,
    )
    assert finding.length_mm == 60.0


def test_a_phase_taken_out_is_asked_for(desk_and_drafts):
    desk, _ = desk_and_drafts
    form = Recheck(desk, brambles_case(desk))
    found = form.problems({"findings.A.size": "6x2", "findings.A.phase": ""})
    assert [p.field for p in found] == ["findings.A.phase"]
