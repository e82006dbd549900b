"""The plan an unsaved entry would lead to: a fold over entries that are not on disk."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.cases import fold
from fieldnotes.domain.entries import Entry
from fieldnotes.planning.followups import plan

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from fieldnotes.domain.entries import Body
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.domain.register import Register
    from fieldnotes.knowledge.library import Library

PREVIEW = "preview"


def unsaved(body: Body, ref: str, clock: int, now: dt.datetime) -> Entry:
    """Give an entry as it would stand, without hash or author."""
    return Entry(f"{PREVIEW}-{clock:06d}", PREVIEW, clock, clock, now, "", ref, body, "", "")


def plan_with(
    entries: Sequence[Entry],
    bodies: Sequence[Body],
    register: Register,
    library: Library,
    now: dt.datetime,
) -> tuple[FollowUp, ...]:
    """Give the plan of a case with some entries more; empty while its horse is not known."""
    ref = entries[0].stream if entries else PREVIEW
    clock = max((e.clock for e in entries), default=0)
    added = [unsaved(body, ref, clock + n, now) for n, body in enumerate(bodies, 1)]
    case = fold(ref, [*entries, *added])
    horse = register.horses.get(case.opened.horse)
    if horse is None or register.practice is None:
        return ()
    return plan(case, horse, library.regions, library.rules, register.practice, now.date())
