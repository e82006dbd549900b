"""The fewest visits that serve all open tasks, checked against trying every set of days."""

import random
from itertools import combinations

from builders import a_followup, a_practice, a_premises, day

from fieldnotes.domain.followups import Doer
from fieldnotes.planning.bundling import bundle, visits
from fieldnotes.planning.workdays import reachable, works


def works_on(date):
    return works(a_practice(), date)


def _fewest(windows, open_on=lambda _: True):
    """Try every set of days, smallest first; a window with an open day is served on one."""
    if not windows:
        return 0
    days = [d for d in range(max(last for _, last in windows) + 1) if open_on(d)]
    for size in range(1, len(windows) + 1):
        for chosen in combinations(days, size):
            if all(any(a <= d <= b for d in chosen) for a, b in windows):
                return size
    raise AssertionError


def _weekday(number):
    return day(number).weekday() < 5


def test_no_plan_with_fewer_visits_serves_two_thousand_random_cases():
    chance = random.Random(7)  # noqa: S311  (a repeatable sample, no secret)
    for _ in range(2000):
        windows = []
        for _ in range(chance.randint(1, 6)):
            first = chance.randint(0, 8)
            windows.append((first, first + chance.randint(0, 4)))
        tasks = [a_followup(f"t{n}", a, a, b, key=f"k{n}") for n, (a, b) in enumerate(windows)]
        assert len(bundle(tasks, day(0))) == _fewest(windows)
        found = bundle(tasks, day(0), lambda d: d.weekday() < 5)
        driven = [w for w in windows if any(_weekday(n) for n in range(w[0], w[1] + 1))]
        free = [w for w in windows if w not in driven]
        assert len(found) == _fewest(driven, _weekday) + _fewest(free)
        served = [t for v in found for t in v.tasks]
        assert sorted(t.key for t in served) == sorted(t.key for t in tasks)
        assert all(t.earliest <= v.on <= t.latest for v in found for t in v.tasks)


def test_a_visit_avoids_the_weekend_where_its_window_allows():
    friday, sunday = 4, 6  # DAY0 is a Monday
    found = bundle([a_followup("recheck", friday, friday, sunday)], day(0), works_on)
    assert [v.on for v in found] == [day(friday)]


def test_a_day_off_is_used_when_the_window_leaves_no_other():
    found = bundle([a_followup("drain out", 5, 5, 6)], day(0), works_on)
    assert [v.on for v in found] == [day(6)]


def test_an_overdue_task_is_served_today_and_the_owners_tasks_need_no_visit():
    late = a_followup("drain out", 1, 2, 3)
    own = a_followup("change the bandage", 5, 5, 5, by=Doer.OWNER, key="own")
    found = bundle([late, own], day(8))
    assert [(v.on, v.tasks) for v in found] == [(day(8), (late,))]


def test_two_premises_are_two_visits_even_on_one_day():
    tasks = [a_followup(key="a", premises="x"), a_followup(key="b", premises="y")]
    open_days = a_premises(hours=())
    found = visits(tasks, day(0), lambda _, d: works_on(d) and reachable(open_days, d))
    assert [(v.premises, v.on) for v in found] == [("x", day(3)), ("y", day(3))]
