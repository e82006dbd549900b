"""Today's stops, the load list, the agenda and the hours they rest on."""

import datetime as dt

from builders import (
    DAY0,
    a_case,
    a_finding,
    a_followup,
    a_practice,
    a_premises,
    a_visit,
    a_wound,
    at,
    day,
)

from fieldnotes.domain.followups import Doer
from fieldnotes.domain.patients import WeeklyWindow
from fieldnotes.domain.urgency import Urgency
from fieldnotes.domain.wounds import Contamination
from fieldnotes.knowledge.rules import load_rules
from fieldnotes.knowledge.service import load_services
from fieldnotes.planning.agenda import agenda
from fieldnotes.planning.stops import Desk, due_stops
from fieldnotes.planning.workdays import hours, next_workdays, works


def stops(tasks, today=DAY0, case=None, premises=None):
    place = premises or a_premises()
    desk = Desk({place.id: place}, a_practice(), load_rules(), load_services())
    return due_stops([(case or a_case(a_visit()), tuple(tasks))], desk, today)


def test_a_place_is_visited_when_one_task_is_due_and_open_windows_join():
    due = a_followup("drain out", 0, 0, 3, key="due", rule="drain-out")
    open_window = a_followup("recheck", 0, 2, 3, key="open", rule="recheck-open-1")
    later = a_followup("recheck", 1, 2, 3, key="later")
    (stop,) = stops([due, open_window, later])
    assert {t.key for t in stop.tasks} == {"due", "open"}
    assert stops([open_window, later]) == ()


def test_the_owners_tasks_bring_no_vet():
    assert stops([a_followup(first=0, due=0, last=0, by=Doer.OWNER)]) == ()


def test_minutes_count_one_kind_of_task_at_one_horse_once():
    services = load_services()
    task = a_followup(first=0, due=0, last=1, key="a", rule="recheck-limb-closed-1")
    again = a_followup(first=0, due=0, last=1, key="b", rule="recheck-granulating")
    (one,), (two,) = stops([task]), stops([task, again])
    base = services.stop_min + services.horse_min
    assert one.service_min == two.service_min == base + services.get("recheck").minutes


def test_an_infected_or_dirty_wound_makes_the_stop_one_of_the_last():
    task = a_followup(first=0, due=0, last=1)
    infected = a_case(a_visit(findings=(a_finding(infection_signs=("heat",)),)))
    dirty = a_case(a_visit(), wounds=(a_wound(contamination=Contamination.DIRTY),))
    assert not stops([task])[0].contaminated
    assert stops([task], case=infected)[0].contaminated
    assert stops([task], case=dirty)[0].contaminated


def test_the_most_urgent_task_sets_the_urgency_and_an_appointment_sets_the_hour():
    urgent = a_followup("a", 0, 0, 1, key="a", urgency=Urgency.SAME_DAY, appointment=at(0, 13))
    (stop,) = stops([urgent, a_followup("b", 0, 0, 1, key="b")])
    assert stop.urgency is Urgency.SAME_DAY
    assert stop.windows == ((at(0, 13), at(0, 13)),)


def test_a_task_with_an_appointment_on_a_later_day_does_not_bring_the_vet_today():
    assert stops([a_followup(first=0, due=0, last=5, appointment=at(2, 9))]) == ()


def test_a_place_without_a_position_is_listed_all_the_same():
    (stop,) = stops([a_followup(first=0, due=0, last=1)], premises=a_premises(position=None))
    assert stop.position is None


def test_owners_hours_are_those_of_the_weekday_and_keep_the_clock_through_summer_time():
    window = WeeklyWindow(6, dt.time(8), dt.time(10))
    place, practice = a_premises(hours=(window,)), a_practice()
    before, after = dt.date(2025, 3, 23), dt.date(2025, 3, 30)
    offsets = [hours(practice, place, d)[0][0].utcoffset() for d in (before, after)]
    assert offsets == [dt.timedelta(0), dt.timedelta(hours=1)]
    assert hours(practice, place, after)[0][0].time() == dt.time(8)
    assert hours(practice, place, DAY0) == ()


def test_days_off_are_no_working_days():
    practice = a_practice(days_off=(day(1),))
    assert works(practice, day(0))
    assert not works(practice, day(1))
    assert next_workdays(practice, DAY0, 5) == tuple(day(n) for n in (0, 2, 3, 4, 7))


def test_the_agenda_puts_overdue_before_due_before_coming_and_leaves_out_what_is_far():
    tasks = tuple(
        a_followup(key, first, first, last, key=key)
        for key, first, last in (("far", 9, 9), ("coming", 2, 3), ("due", 0, 1), ("late", -3, -1))
    )
    assert [t.key for t in agenda([tasks], DAY0, 3)] == ["late", "due", "coming"]
