import math
import random

import pytest
from hypothesis import given as given_
from hypothesis import strategies as st
from shapely.geometry import Polygon

from fieldnotes.clinical.course import edge_advance_mm, reduction_percent
from fieldnotes.clinical.measuring import (
    ellipse,
    ellipse_perimeter_cm,
    finding_size,
    given,
    mixed_methods,
    mixed_words,
    rectangle,
    squares,
    traced,
)
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.wounds import Finding, Measuring

lengths = st.floats(0.1, 100)


# Wound surface area worked example (calculator.academy page, undated): 4.2 x 2.8 cm.
@pytest.mark.parametrize(
    ("length", "width", "area"),
    [(4.2, 2.8, 9.24), (2, 1, 1.57), (3, 2, 4.71), (5, 4, 15.71), (8, 6, 37.70)],
)
def test_an_oval_wound_has_the_published_area(length, width, area):
    assert ellipse(length, width).area_cm2 == pytest.approx(area, abs=0.005)


def test_length_times_width_over_reads_an_oval_by_four_over_pi():
    assert rectangle(4.2, 2.8).area_cm2 == pytest.approx(11.76)
    ratio = rectangle(4.2, 2.8).area_cm2 / ellipse(4.2, 2.8).area_cm2
    assert ratio == pytest.approx(4 / math.pi)


def test_the_fall_in_percent_is_the_same_by_either_shape():
    # 4.2 x 2.8 -> 3.1 x 2.0: 47.3 %, same worked example.
    for shape in (ellipse, rectangle):
        fall = reduction_percent(shape(4.2, 2.8).area_cm2, shape(3.1, 2.0).area_cm2)
        assert fall == pytest.approx(47.3, abs=0.05)


@given_(lengths)
def test_the_perimeter_of_a_round_wound_is_pi_times_its_diameter(length):
    assert ellipse_perimeter_cm(length, length) == pytest.approx(math.pi * length)


def test_the_perimeter_of_a_long_oval_agrees_with_its_numeric_integral():
    # Ramanujan, Modular equations and approximations to pi, 1914: error below 0.001 % at 6:1.
    a, b, steps = 3.0, 0.5, 200_000
    turns = (2 * math.pi * (i + 0.5) / steps for i in range(steps))
    exact = sum(math.hypot(a * math.sin(t), b * math.cos(t)) for t in turns) * 2 * math.pi / steps
    assert ellipse_perimeter_cm(6, 1) == pytest.approx(exact, rel=1e-5)


@given_(lengths, lengths)
def test_a_circle_advances_by_the_fall_of_its_radius(before, after):
    # Gilman, Parameter for measurement of wound closure, Wounds 1990.
    advance = edge_advance_mm(ellipse(before, before), ellipse(after, after))
    assert advance == pytest.approx(10 * (before - after) / 2, abs=1e-6)


@given_(lengths, lengths)
def test_a_square_advances_by_half_the_fall_of_its_side(before, after):
    advance = edge_advance_mm(rectangle(before, before), rectangle(after, after))
    assert advance == pytest.approx(10 * (before - after) / 2, abs=1e-6)


def test_two_closed_wounds_have_no_advance_and_no_reduction():
    assert edge_advance_mm(given(0), given(0)) is None
    assert reduction_percent(0, 1) is None


@given_(st.lists(st.tuples(st.floats(1, 10), st.floats(0, 1)), min_size=3, max_size=30))
def test_a_traced_outline_agrees_with_an_independent_geometry_library(rays):
    turn = 2 * math.pi / len(rays)
    points = [
        (5 + r * math.cos((i + 0.4 * j) * turn), 5 + r * math.sin((i + 0.4 * j) * turn))
        for i, (r, j) in enumerate(rays)
    ]
    polygon = Polygon(points)
    if len(rays) < 4 and not polygon.is_valid:
        return
    size = traced(points)
    assert size.area_cm2 == pytest.approx(polygon.area, rel=1e-6)
    assert size.perimeter_cm == pytest.approx(polygon.length)


@pytest.mark.parametrize(
    ("points", "reason"),
    [
        ([(0, 0), (2, 2), (2, 0), (0, 2)], "crosses itself"),
        ([(0, 0), (1, 1), (2, 2)], "on one line"),
        ([(0, 0), (1, 1), (0, 0)], "three different points"),
        ([(0, 0), (1, math.nan), (2, 0)], "no number"),
        ([(0, 0), (900, 0), (900, 900)], "too large"),
    ],
)
def test_an_outline_round_nothing_is_refused(points, reason):
    with pytest.raises(RefusedInputError, match=reason):
        traced(points)


def test_squares_counted_on_a_sheet_add_up():
    assert squares(37.5, 0.5).area_cm2 == pytest.approx(9.375)


@pytest.mark.parametrize("value", [-1, math.nan, math.inf, 400])
def test_a_size_no_wound_has_is_refused(value):
    for shape in (ellipse, rectangle):
        with pytest.raises(RefusedInputError):
            shape(value, 2)


def test_a_perimeter_too_short_for_its_area_is_refused():
    with pytest.raises(RefusedInputError, match="cannot go round"):
        given(12.57, 1.2)
    assert given(12.57, 12.5).perimeter_cm == 12.5


def test_an_area_alone_is_taken_as_a_circle():
    assert given(math.pi * 4).perimeter_cm == pytest.approx(4 * math.pi)


def test_a_finding_keeps_how_it_was_measured_and_mixing_is_noticed():
    oval = finding_size(Finding("A", length_mm=42, width_mm=28, depth_mm=5))
    tracing = finding_size(Finding("A", area_cm2=9.0, measuring=Measuring.TRACING))
    assert oval.area_cm2 == pytest.approx(9.24, abs=0.005)
    assert oval.depth_mm == 5
    assert mixed_methods([oval, tracing]) == (Measuring.ELLIPSE, Measuring.TRACING)
    assert mixed_methods([oval, oval]) == ()
    assert finding_size(Finding("A")) is None


def test_a_series_measured_in_two_ways_says_so_in_words():
    oval = Finding("A", length_mm=42, width_mm=28)
    assert "ellipse, tracing" in mixed_words(
        [oval, Finding("A", area_cm2=9.0, measuring=Measuring.TRACING)]
    )
    assert not mixed_words([oval, Finding("A"), Finding("A", area_cm2=0.0)])


def test_the_area_agrees_with_shapely_on_200_random_outlines():
    draw = random.Random(200)  # noqa: S311  (a test's draw)
    for _ in range(200):
        corners = draw.randint(4, 60)
        radii = [draw.uniform(0.5, 8) for _ in range(corners)]
        turns = sorted(draw.uniform(0, 2 * math.pi) for _ in range(corners))
        points = [
            (20 + r * math.cos(t), 12 + r * math.sin(t)) for r, t in zip(radii, turns, strict=True)
        ]
        polygon = Polygon(points)
        if not polygon.is_valid:
            continue
        assert traced(points).area_cm2 == pytest.approx(polygon.area, rel=0.001)
        assert traced(points).perimeter_cm == pytest.approx(polygon.length, rel=0.001)
