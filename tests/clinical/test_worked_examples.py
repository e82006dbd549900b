"""The worked examples of the clinical reference sheet, and where each one is checked.

`CHECKED` names the test of every example; those that stand nowhere else are checked here, each
with its id and the source the sheet gives (D: arithmetic done in the sheet).
"""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given as given_
from hypothesis import strategies as st

from fieldnotes.clinical.course import Measured, Site, edge_advance_mm, reduction_percent
from fieldnotes.clinical.flags import judge
from fieldnotes.clinical.healing import follow
from fieldnotes.clinical.measuring import ellipse, ellipse_perimeter_cm, given, rectangle
from fieldnotes.clinical.outcomes import wilson_rate
from fieldnotes.clinical.projection import healing_constant
from fieldnotes.clinical.signs import Signs
from fieldnotes.clinical.wound_age import age_class, closure_by_time, hours_between
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.treatment import ClosureMethod
from fieldnotes.knowledge.healing import load_healing
from fieldnotes.knowledge.wound_ages import load_wound_ages

TESTS = Path(__file__).parent.parent
HERE = "clinical/test_worked_examples.py"
MEASURING, HEALING = "clinical/test_measuring.py", "clinical/test_healing.py"
FLAGS, PLAN, VITALS = (
    "clinical/test_flags.py",
    "planning/test_followups.py",
    "clinical/test_vitals.py",
)
# Example of the sheet: the file and the test that check it.
CHECKED = {
    "1.1": (MEASURING, "test_an_oval_wound_has_the_published_area"),
    "1.2": (MEASURING, "test_an_oval_wound_has_the_published_area"),
    "1.3": (MEASURING, "test_the_fall_in_percent_is_the_same_by_either_shape"),
    "1.5": (HERE, "test_two_sizes_give_fall_perimeter_advance_and_rate"),
    "1.6": (HERE, "test_two_sizes_give_fall_perimeter_advance_and_rate"),
    "1.7": (HERE, "test_two_sizes_give_fall_perimeter_advance_and_rate"),
    "1.10": (HERE, "test_two_sizes_give_fall_perimeter_advance_and_rate"),
    "1.11": (HEALING, "test_the_healing_constant_of_a_letter_in_wounds_2003"),
    "1.14": (HEALING, "test_a_doubled_metatarsal_wound_on_day_14_is_expected_retraction"),
    "1.15": (HERE, "test_published_series_differ_by_the_days_reckoned_from_them"),
    "1.16": (HERE, "test_a_share_of_nothing_and_a_rate_over_no_time_are_not_made_up"),
    "SYN-1": (HERE, "test_a_made_up_curve_is_followed_as_it_was_made"),
    "SYN-2": (HERE, "test_a_made_up_curve_is_followed_as_it_was_made"),
    "SYN-3": (HERE, "test_a_stalled_curve_stands_still_and_is_prompted_from_day_28"),
    "1.2 circle": (MEASURING, "test_a_circle_advances_by_the_fall_of_its_radius"),
    "1.2 square": (MEASURING, "test_a_square_advances_by_half_the_fall_of_its_side"),
    "1.2 sign": (HERE, "test_the_advance_has_the_sign_of_the_fall"),
    "1.2 round": (MEASURING, "test_the_perimeter_of_a_round_wound_is_pi_times_its_diameter"),
    "1.2 long oval": (
        MEASURING, "test_the_perimeter_of_a_long_oval_agrees_with_its_numeric_integral",
    ),
    "1.2 Ramanujan I": (HERE, "test_the_older_formula_is_out_by_3_in_10_000_for_a_long_oval"),
    "1.2 all gone": (HERE, "test_a_reduction_of_100_percent_means_a_closed_wound_and_nothing_else"),
    "3.1": (HERE, "test_a_wound_is_classed_by_its_hours"),
    "3.2": (HERE, "test_a_wound_is_classed_by_its_hours"),
    "3.3": (HERE, "test_a_closure_is_named_by_its_time"),
    "3.5": (PLAN, "test_a_drain_comes_out_after_two_to_three_days_and_is_overdue_after_seven"),
    "3.6": (PLAN, "test_tension_sutures_come_out_from_day_three_to_four"),
    "3.7": (PLAN, "test_limb_sutures_come_out_on_day_fourteen"),
    "3.9": (HERE, "test_published_counts_give_the_printed_shares"),
    "5.1": (VITALS, "test_a_sample_over_all_three_cut_offs_is_septic_in_all_three"),
    "5.3": (VITALS, "test_normal_protein_is_a_quarter_to_a_third_of_plasma"),
    "5.4": (VITALS, "test_laboratory_units"),
    "5.5": (VITALS, "test_grimace_units_add_up"),
    "5.7": (VITALS, "test_an_adult_with_39_degrees_has_only_a_high_temperature"),
    "5.8": (VITALS, "test_a_heart_rate_of_100_is_normal_in_a_newborn_and_high_in_an_adult"),
    "5.9": (VITALS, "test_fahrenheit_and_celsius"),
    "5.10": (
        PLAN, "test_exposed_periosteum_is_radiographed_at_once_and_again_at_day_ten_to_fifteen",
    ),
    "5.11": (FLAGS, "test_a_sutured_wound_that_drains_on_day_5_is_infected"),
    "7.1": (PLAN, "test_a_granulating_wound_with_little_exudate_is_changed_after_four_days"),
    "7.2": (PLAN, "test_an_inflamed_wet_wound_is_changed_every_day"),
    "7.3": (HERE, "test_full_occlusion_over_granulation_is_flagged_with_the_trial"),
    "7.4": (PLAN, "test_the_pressure_bandage_after_trimming_comes_off_the_next_day"),
    "7.6": (FLAGS, "test_five_percent_in_a_fortnight_by_day_28_prompts_a_graft"),
    "7.7": (FLAGS, "test_early_growth_of_a_distal_limb_is_no_failure"),
}  # fmt: skip
LIMB, NECK = Site("distal limb", proud_flesh=True), Site("neck")
AGES = load_wound_ages()


@pytest.mark.parametrize("example", CHECKED)
def test_every_example_has_its_test(example):
    file, test = CHECKED[example]
    assert f"def {test}(" in TESTS.joinpath(file).read_text("utf-8")


# 1.5-1.7 and 1.10, D: linear advance of the edge, form of Gilman 1990.
@pytest.mark.parametrize(
    ("before", "after", "days", "fall", "around", "advance_cm", "rate", "reduction"),
    [
        (ellipse(5, 5), ellipse(3, 3), 14, 12.57, 12.57, 1.000, 0.714, 64.0),
        (ellipse(4.2, 2.8), ellipse(3.1, 2.0), 28, 4.37, 9.61, 0.455, 0.162, 47.3),
        (ellipse(4, 4), ellipse(5, 5), 7, -7.07, 14.14, -0.500, -0.714, -56.25),
        (rectangle(2.5, 2.5), rectangle(1.5, 1.5), 10, 4.00, 8.00, 0.500, 0.500, 64.0),
    ],
)
def test_two_sizes_give_fall_perimeter_advance_and_rate(  # noqa: PLR0917  (one row)
    before, after, days, fall, around, advance_cm, rate, reduction
):
    assert before.area_cm2 - after.area_cm2 == pytest.approx(fall, abs=0.005)
    assert (before.perimeter_cm + after.perimeter_cm) / 2 == pytest.approx(around, abs=0.005)
    point = follow([Measured(0, before), Measured(days, after)], NECK, load_healing()).last
    assert point.advance_mm == pytest.approx(10 * advance_cm, abs=0.005)
    assert point.rate_mm_per_day == pytest.approx(rate, abs=0.0005)
    assert point.reduction_percent == pytest.approx(reduction, abs=0.05)


# 1.15: BMC Vet Res, 2023, donkeys: F12 32.1 % sooner than F11; Bischofberger et al. 2013 and
# press report: F2 27 % (26.6) sooner than F1.
@pytest.mark.parametrize(("slow", "fast", "percent"), [("F11", "F12", 32.1), ("F1", "F2", 26.6)])
def test_published_series_differ_by_the_days_reckoned_from_them(slow, fast, percent):
    closed = {s.id: s.closed_day for s in load_healing().series}
    assert 100 * (closed[slow] - closed[fast]) / closed[slow] == pytest.approx(percent, abs=0.05)


def test_a_share_of_nothing_and_a_rate_over_no_time_are_not_made_up():  # 1.16, D
    assert reduction_percent(0, 3) is None
    assert healing_constant(0, 3, 7) is None
    assert healing_constant(4, 3, 0) is None
    with pytest.raises(RefusedInputError, match="twice"):
        follow([Measured(0, given(4)), Measured(0, given(3))], LIMB, load_healing())


# SYN-1, SYN-2: made up from start and closing day of F1 and F5, constant advance between.
@pytest.mark.parametrize(
    ("site", "areas", "peak", "rate"),
    [
        (LIMB, {0: 4.0, 7: 5.0, 14: 6.0, 21: 4.44, 28: 3.11, 35: 2.02, 42: 1.16, 49: 0.54,
                56: 0.15, 64: 0}, 14, 0.276),
        (NECK, {0: 3.14, 7: 2.31, 14: 1.6, 21: 1.03, 28: 0.58, 35: 0.26, 42: 0.06, 49: 0},
         0, 0.204),
    ],
)  # fmt: skip
def test_a_made_up_curve_is_followed_as_it_was_made(site, areas, peak, rate):
    course = follow([Measured(d, given(a)) for d, a in areas.items()], site, load_healing())
    after = [p for p in course.points if p.day > peak]
    assert [p.rate_mm_per_day for p in after] == pytest.approx([rate] * len(after), abs=0.01)
    assert course.peak_day == peak


def test_a_stalled_curve_stands_still_and_is_prompted_from_day_28():  # SYN-3, stall made up
    areas = {0: 6.25, 7: 8.10, 14: 9.40, 21: 9.60, 28: 9.40, 35: 9.50}
    tables = load_healing()
    for until in areas:
        course = follow(
            [Measured(d, given(a)) for d, a in areas.items() if d <= until], LIMB, tables
        )
        raised = {flag.flag for flag in judge(course, tables)}
        assert ("stalled" in raised) is (until >= 28), until
    assert course.last.reduction_percent == pytest.approx(-52.0)
    assert all(abs(p.rate_mm_per_day) <= 0.1 for p in course.points if p.day > 14)


@given_(st.floats(0.2, 60), st.floats(0.2, 60))
def test_the_advance_has_the_sign_of_the_fall(before, after):  # 1.2, D
    advance = edge_advance_mm(ellipse(before, before), ellipse(after, after))
    assert math.copysign(1, advance) == math.copysign(1, before - after) or before == after
    assert edge_advance_mm(ellipse(before, 0.1), ellipse(before, 0.1)) == 0


def test_the_older_formula_is_out_by_3_in_10_000_for_a_long_oval():  # 1.2, D
    a, b = 3.0, 0.5
    first = math.pi * (3 * (a + b) - math.sqrt((3 * a + b) * (a + 3 * b)))
    # ours is the second, that is exact to a thousandth of a percent there
    assert first / ellipse_perimeter_cm(6, 1) - 1 == pytest.approx(-0.0003, abs=5e-5)


@given_(st.floats(0.1, 400), st.one_of(st.just(0.0), st.floats(1e-9, 400)))
def test_a_reduction_of_100_percent_means_a_closed_wound_and_nothing_else(first, last):  # 1.2, D
    assert (reduction_percent(first, last) == 100) is (last / first < 1e-16)


# 3.1 and 3.2: Provost, Equine Surgery ch. 5, 2012; the boundary at 12 hours D.
@pytest.mark.parametrize(
    ("hours", "number"), [(0, 1), (5, 1), (5.99, 1), (6.0, 2), (11.9, 2), (12.0, 3), (300, 3)]
)
def test_a_wound_is_classed_by_its_hours(hours, number):
    found = age_class(hours, AGES)
    assert found.number == number
    assert "Equine Surgery" in found.source
    assert found.advice


@pytest.mark.parametrize("hours", [-0.1, math.nan, math.inf])
def test_an_age_no_wound_has_is_refused(hours):
    with pytest.raises(RefusedInputError, match="hours"):
        age_class(hours, AGES)


# 3.3: Hackett, How to use delayed closure, AAEP 2011.
@pytest.mark.parametrize(
    ("hours", "granulating", "named"),
    [
        (3, False, ClosureMethod.PRIMARY),
        (4 * 24, False, ClosureMethod.DELAYED_PRIMARY),
        (4 * 24, True, ClosureMethod.SECONDARY),
    ],
)
def test_a_closure_is_named_by_its_time(hours, granulating, named):
    assert closure_by_time(hours, AGES, granulating=granulating) is named


@pytest.mark.parametrize(
    ("evening", "morning", "hours"),
    [("2025-03-29 22:00", "2025-03-30 04:00", 5), ("2025-10-25 22:00", "2025-10-26 04:00", 7)],
)
def test_the_hours_of_a_night_the_clock_changes_are_those_that_went_by(evening, morning, hours):
    # Summer Time Order 2002 (United Kingdom): clocks change at 1 h UTC, last Sunday of the month
    zone = ZoneInfo("Europe/London")
    first, last = (dt.datetime.fromisoformat(t).replace(tzinfo=zone) for t in (evening, morning))
    assert hours_between(first, last) == hours


# 3.9: Janicek et al., cast complications; heel bulb lacerations, 62 cases, JAVMA 2022.
@pytest.mark.parametrize(
    ("count", "total", "percent"), [(197, 398, 49.5), (59, 62, 95.2), (14, 18, 77.8)]
)
def test_published_counts_give_the_printed_shares(count, total, percent):
    assert 100 * wilson_rate(count, total).share == pytest.approx(percent, abs=0.05)


def test_full_occlusion_over_granulation_is_flagged_with_the_trial():
    # 7.3: Malone, Univ. Minnesota: wound bandaging; Howard et al. 1993 (113 v 53 days)
    tables = load_healing()
    course = follow([Measured(0, given(4)), Measured(8, given(4))], LIMB, tables)
    (flag,) = judge(course, tables, Signs(dressing_occlusive=True))
    assert flag.flag == "occlusive"
    assert "113 days, gauze 53" in flag.why
    assert "Howard" in flag.source
