"""A tracing step by step: the scale of a ruler, the edge in centimetres, and what it refuses."""

from __future__ import annotations

import math
import random

import pytest
from shapely.geometry import Polygon

from fieldnotes.clinical.tracing import Step, Tracing, ruler_length_cm
from fieldnotes.domain.errors import RefusedInputError

SCALED = Tracing().placed((100, 700)).placed((500, 700)).measured(10)


def test_the_steps_follow_each_other_and_each_is_taken_back():
    tracing = Tracing()
    assert tracing.step is Step.RULER
    assert SCALED.step is Step.EDGE
    assert SCALED.cm_per_px == 0.025
    square = SCALED.placed((0, 0)).placed((400, 0)).placed((400, 400)).placed((0, 400))
    size, _ = square.size()
    assert (size.area_cm2, size.perimeter_cm) == pytest.approx((100, 40))
    assert square.finished().step is Step.CLOSED
    back = square.finished()
    steps = [back.step]
    for _ in range(8):
        back = back.undone()
        steps.append(back.step)
    assert back == Tracing()
    assert steps == [Step.CLOSED] + [Step.EDGE] * 5 + [Step.LENGTH, Step.RULER, Step.RULER]


def test_200_random_outlines_on_a_picture_agree_with_an_independent_geometry_library():
    draw = random.Random(5)  # noqa: S311  (a test's draw)
    for _ in range(200):
        turns = sorted(draw.uniform(0, 2 * math.pi) for _ in range(draw.randint(8, 60)))
        points = [
            (1500 + r * math.cos(t), 1000 + r * math.sin(t))
            for t in turns
            for r in [draw.uniform(300, 900)]
        ]
        polygon = Polygon(points)
        if not polygon.is_valid:
            continue
        tracing = SCALED
        for point in points:
            tracing = tracing.placed(point)
        finding = tracing.finding("A")
        assert finding.area_cm2 == pytest.approx(polygon.area * 0.025**2, rel=0.001)
        assert finding.perimeter_cm == pytest.approx(polygon.length * 0.025, rel=0.001)


def test_the_outline_stands_on_its_own_left_and_bottom_with_y_upward():
    corner = SCALED.placed((1000, 1000)).placed((1400, 1000)).placed((1000, 840))
    assert corner.outline_cm == ((0, 0), (10, 0), (0, 4))


def test_what_goes_round_nothing_is_refused():
    with pytest.raises(RefusedInputError, match="further along"):
        Tracing().placed((5, 5)).placed((6, 6))
    with pytest.raises(RefusedInputError, match="at least three"):
        SCALED.placed((0, 0)).placed((9, 9)).finished()
    crossed = SCALED.placed((0, 0)).placed((400, 400)).placed((400, 0)).placed((0, 400))
    assert crossed.size()[1].startswith("the line crosses itself")
    with pytest.raises(RefusedInputError, match="crosses"):
        crossed.finished()


def test_the_same_point_twice_is_placed_once():
    assert len(SCALED.placed((1, 1)).placed((1, 1)).edge) == 1


def test_a_rulers_length_is_read_in_the_unit_written():
    assert [ruler_length_cm(t) for t in ("10", "100 mm", "4 in", "2,5 cm")] == [10, 10, 10.16, 2.5]
    for wrong in ("", "long", "nan", "inf cm"):
        with pytest.raises(RefusedInputError):
            ruler_length_cm(wrong)
    for cm in (0, -3, 500):
        with pytest.raises(RefusedInputError, match="no length of a ruler"):
            Tracing().placed((0, 0)).placed((90, 0)).measured(cm)
