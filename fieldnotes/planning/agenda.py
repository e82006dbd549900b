"""The agenda: follow-ups of many cases as rows, overdue first, then due, then coming."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.followups import State

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from fieldnotes.domain.followups import FollowUp

_ORDER = {State.OVERDUE: 0, State.DUE: 1, State.COMING: 2}


def agenda(
    plans: Iterable[tuple[FollowUp, ...]], today: dt.date, days: int
) -> tuple[FollowUp, ...]:
    """Give what is overdue, due, or begins within so many days, most urgent first."""
    tasks = [t for plan in plans for t in plan if (t.earliest - today).days <= days]
    return tuple(sorted(tasks, key=lambda t: (_ORDER[t.state(today)], t.due, t.case, t.key)))
