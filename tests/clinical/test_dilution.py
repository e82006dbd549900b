"""Dilutions of antiseptics against published tables."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.clinical.dilution import dilute
from fieldnotes.domain.errors import RefusedInputError


@pytest.mark.parametrize(
    ("stock", "target", "final", "expected"),
    [
        # target: Equine Clinical Medicine, Surgery and Reproduction, 2nd ed., p. 1305
        (10, 0.1, 1000, (10, 990, 99)),
        (10, 0.2, 1000, (20, 980, 49)),
        (10, 0.5, 1000, (50, 950, 19)),
        (10, 1, 1000, (100, 900, 9)),
        (10, 0.1, 5000, (50, 4950, 99)),
        # 0.05 %: Approaches to equine wound management, Vet Times, 2015
        (2, 0.05, 1000, (25, 975, 39)),
        (4, 0.05, 1000, (12.5, 987.5, 79)),
        (5, 0.05, 1000, (10, 990, 99)),
        # alligation: Simple formula for diluting solutions, 2003
        (10, 2, 10, (2, 8, 4)),
    ],
)
def test_stock_and_diluent_and_parts(stock, target, final, expected):
    made = dilute(stock, target, final)
    assert (made.stock_ml, made.diluent_ml, made.parts) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("stock", "target", "final", "field"),
    [
        (1, 2, 1000, "target-percent"),
        (0, 0.1, 1000, "stock-percent"),
        (10, 0, 1000, "target-percent"),
        (10, 0.1, 0, "final-ml"),
        (101, 1, 10, "stock-percent"),
        (10, float("nan"), 10, "target-percent"),
        (10, 1, float("inf"), "final-ml"),
    ],
)
def test_an_impossible_dilution_is_refused_naming_the_figure(stock, target, final, field):
    with pytest.raises(RefusedInputError) as caught:
        dilute(stock, target, final)
    assert caught.value.field == field


@given(st.floats(0.5, 100), st.floats(0.001, 1), st.floats(1, 20000))
def test_dilution_conserves_the_active_and_the_volume(stock, share, final):
    made = dilute(stock, stock * share, final)
    assert made.stock_ml * stock == pytest.approx(made.target_percent * final)
    assert made.stock_ml + made.diluent_ml == pytest.approx(final)
