"""A body weight as typed: kilograms, or pounds where the practice has US units."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.domain.body_weight import METRIC, US, read_weight, weight_answer, weight_text
from fieldnotes.domain.errors import RefusedInputError

LB_KG = 0.45359237  # exact by the international yard and pound agreement of 1959


@pytest.mark.parametrize(
    ("text", "units", "kg"),
    [
        ("500", METRIC, 500),
        ("487,5", METRIC, 487.5),
        ("1050 lb", METRIC, round(1050 * LB_KG, 1)),
        ("1050", US, round(1050 * LB_KG, 1)),
        ("1050lbs", US, round(1050 * LB_KG, 1)),
        ("1050 pounds", METRIC, round(1050 * LB_KG, 1)),
        ("480 kg", US, 480),
        ("480 Kg.", US, 480),
    ],
)
def test_a_bare_figure_is_in_the_practices_units_and_a_named_unit_always_holds(text, units, kg):
    assert read_weight(text, units) == kg


@pytest.mark.parametrize("text", ["heavy", "-480", "480 st", "1,050", "1,050 lb", "nan", "1e3", ""])
@pytest.mark.parametrize("units", [METRIC, US])
def test_what_is_no_weight_is_refused_in_words(text, units):
    with pytest.raises(RefusedInputError, match=r"weight|unit|comma"):
        read_weight(text, units)


def test_pounds_are_shown_beside_kilograms_only_where_the_practice_has_them():
    assert weight_text(476.3, US) == "476.3 kg (1050 lb)"
    assert weight_text(476.3, METRIC) == "476.3 kg"


@given(st.integers(200, 12000).map(lambda n: n / 10), st.sampled_from([METRIC, US]))
def test_a_reckoned_weight_put_in_a_field_is_read_as_it_was(kg, units):
    assert read_weight(weight_answer(kg, units), units) == pytest.approx(kg)
