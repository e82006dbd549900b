"""Days without a round: weekends, days off, public holidays, each with its reason."""

import datetime as dt

import pytest
from builders import a_practice

from fieldnotes.domain.followups import Doer, FollowUp
from fieldnotes.planning.bundling import bundle
from fieldnotes.planning.workdays import (
    free_because,
    free_days,
    holiday_region_fault,
    next_workdays,
    works,
)

ENGLAND = a_practice(holiday_region="GB-ENG", days_off=(dt.date(2025, 6, 4),))


@pytest.mark.parametrize(
    ("day", "why"),
    [
        # UK government, bank holidays of England and Wales, 2025.
        (dt.date(2025, 4, 18), "Good Friday"),
        (dt.date(2025, 4, 21), "Easter Monday"),
        (dt.date(2025, 8, 25), "holiday"),
        (dt.date(2025, 6, 4), "day off"),
        (dt.date(2025, 6, 7), "Saturday"),
        (dt.date(2025, 6, 5), ""),
    ],
)
def test_a_day_without_a_round_says_why_and_by_whose_word(day, why):
    said = free_because(ENGLAND, day)
    assert why.casefold() in said.casefold()
    assert works(ENGLAND, day) is (not why)
    assert not said or said.endswith(")")


def test_a_practice_without_a_region_keeps_no_public_holidays():
    assert works(a_practice(), dt.date(2025, 4, 18))


def test_working_days_pass_over_easter_and_the_free_days_are_listed():
    thursday = dt.date(2025, 4, 17)
    assert next_workdays(ENGLAND, thursday, 2) == (thursday, dt.date(2025, 4, 22))
    free = free_days(ENGLAND, thursday, dt.date(2025, 4, 22))
    assert [day.day for day, _ in free] == [18, 19, 20, 21]


def test_an_unknown_region_is_named_and_a_known_one_is_not():
    assert "GB-XXX" in holiday_region_fault("GB-XXX")
    assert "nowhere" in holiday_region_fault("nowhere")
    assert holiday_region_fault("gb-sct") == ""


def test_a_visit_avoids_a_public_holiday_unless_its_window_leaves_no_other_day():
    friday = dt.date(2025, 4, 18)
    (early,) = bundle((due(dt.date(2025, 4, 16), friday),), friday - dt.timedelta(3), good)
    assert early.on == dt.date(2025, 4, 17)
    (urgent,) = bundle((due(friday, friday),), friday, good)
    assert urgent.on == friday


def good(day):
    return works(ENGLAND, day)


def due(first, last):
    key = f"{first} {last}"
    return FollowUp(key, "c", "h", "p", "look", Doer.VET, first, last, last, "r", "s")


def test_tasks_that_share_only_a_day_off_are_done_on_two_working_days():
    # 4 June is a day off: one may be done on the 3rd and 4th, the other from the 4th to the 6th.
    first, last = (
        due(dt.date(2025, 6, 3), dt.date(2025, 6, 4)),
        due(dt.date(2025, 6, 4), dt.date(2025, 6, 6)),
    )
    found = bundle((first, last), dt.date(2025, 6, 2), good)
    assert [v.on.day for v in found] == [3, 6]
    assert [v.on.day for v in bundle((first, last), dt.date(2025, 6, 2))] == [4]


def test_a_task_only_a_day_off_is_left_for_takes_no_other_along():
    only = due(dt.date(2025, 6, 4), dt.date(2025, 6, 4))
    free = due(dt.date(2025, 6, 3), dt.date(2025, 6, 5))
    found = bundle((only, free), dt.date(2025, 6, 2), good)
    assert [(v.on.day, v.tasks) for v in found] == [(4, (only,)), (5, (free,))]
