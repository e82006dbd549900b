"""A recheck by keys: measure, look, say what was done, save."""

from __future__ import annotations

import asyncio

from keys import Keys
from shots import screen_text

from fieldnotes.domain.wounds import Phase

MOST_PRESSES = 40  # issue 9, flow c


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
