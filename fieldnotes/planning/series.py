"""The days of an owner's repeated task, without those on which a vet's visit does it."""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING

from fieldnotes.domain.followups import Doer

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.knowledge.rules import Rules


def occurrences(task: FollowUp, skip: Collection[dt.date] = ()) -> tuple[dt.date, ...]:
    """Give the days a task is done on, from its next day to the last; one day without a series."""
    if task.series is None:
        return (task.due,)
    step = max(1, math.floor(task.series.every_days))
    number = (task.series.until - task.due).days // step + 1
    days = (task.due + dt.timedelta(days=step * n) for n in range(number))
    return tuple(d for d in days if d not in skip)


def vet_days(
    task: FollowUp, visits: Iterable[tuple[dt.date, tuple[FollowUp, ...]]], rules: Rules
) -> frozenset[dt.date]:
    """Give the planned visit days on which the vet does an owner's task, so the owner need not.

    A bandage that covers a wound is changed at every visit that looks at the wound; drug
    rounds, temperature and the daily look stay the owner's.
    """
    rule = rules.get(task.rule)
    if rule is None or task.by is not Doer.OWNER or rule.by != "changer":
        return frozenset()
    wounds = set(task.wounds)
    return frozenset(
        day
        for day, tasks in visits
        if any(t.case == task.case and wounds & set(t.wounds) for t in tasks)
    )
