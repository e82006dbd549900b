"""An owner's repeated tasks: their days, checked against a published recurrence library."""

import datetime as dt

from builders import DAY0, a_followup, day
from dateutil.rrule import DAILY, rrule
from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.domain.followups import Doer, Series
from fieldnotes.knowledge.rules import load_rules
from fieldnotes.planning.series import occurrences, vet_days


def owners(every=2, until=8, first=0, rule="bandage-granulating"):
    series = Series(every, day(until))
    return a_followup("change", first, first, first, by=Doer.OWNER, series=series, rule=rule)


# Reference examples K4 and K6 (RFC 5545, 2009).
def test_every_second_and_third_day_fall_on_the_published_dates():
    for start, every, days in ((4, 2, (4, 6, 8, 10, 12)), (2, 3, (2, 5, 8, 11))):
        march = [dt.date(2026, 3, d) for d in days]
        task = _starting(dt.date(2026, 3, start), Series(every, march[-1]))
        assert occurrences(task) == tuple(march)


def _starting(start, series):
    first = (start - DAY0).days
    return a_followup(first=first, due=first, last=first, by=Doer.OWNER, series=series)


@given(st.integers(1, 9), st.integers(0, 60), st.integers(0, 400))
def test_the_days_are_those_of_a_daily_recurrence(every, length, first):
    task = owners(every, first + length, first)
    start = dt.datetime.combine(task.due, dt.time())
    until = dt.datetime.combine(task.series.until, dt.time())
    wanted = rrule(DAILY, interval=every, dtstart=start, until=until)
    assert occurrences(task) == tuple(d.date() for d in wanted)


def test_the_owner_does_not_change_the_bandage_on_the_day_of_a_visit():
    task, visit = owners(), a_followup("recheck", 4, 4, 5)
    skip = vet_days(task, [(day(4), (visit,))], load_rules())
    assert occurrences(task, skip) == (day(0), day(2), day(6), day(8))


def test_the_owner_looks_at_the_horse_on_the_day_of_a_visit_all_the_same():
    task, visit = owners(rule="look-twice-daily"), a_followup("recheck", 4, 4, 5)
    assert vet_days(task, [(day(4), (visit,))], load_rules()) == frozenset()


def test_a_visit_to_another_wound_leaves_the_owners_change_in_place():
    visit = a_followup("recheck", 4, 4, 5, wounds=("B",))
    assert vet_days(owners(), [(day(4), (visit,))], load_rules()) == frozenset()
