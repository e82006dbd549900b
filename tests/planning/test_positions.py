"""Positions in every form a person may type."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openlocationcode import openlocationcode

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.patients import Position
from fieldnotes.planning.positions import (
    decimal_degrees,
    geo_uri,
    parse_position,
)

positions = st.builds(
    Position,
    st.floats(-89.999, 89.999, allow_nan=False),
    st.floats(-179.999, 179.999, allow_nan=False),
)


@pytest.mark.parametrize(
    "text",
    [
        "53.208333, -9.1",
        "53.208333 -9.1",
        "53.208333N 9.1W",
        "N53.208333 W9.1",
        "9.1W, 53.208333N",
        "53°12'30\"N 9°06'00\"W",
        "53 12 30 N 9 06 00 W",
        "53° 12.5' N, 9° 6' W",
        "N 53° 12' 30\", W 9° 6'",
        "53°12\u203230\u2033n 9°06\u203200\u2033w",
        "geo:53.208333,-9.1",
        "GEO:53.208333,-9.1,20;crs=wgs84;u=15",
    ],
)
def test_one_place_typed_in_many_ways_is_one_position(text):
    found = parse_position(text)
    assert found.lat == pytest.approx(53.208333, abs=1e-5)
    assert found.lon == pytest.approx(-9.1, abs=1e-5)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("95, 10", "latitude 95"),
        ("120.5, 40", "swapped"),
        ("10, 190", "longitude 190"),
        ("9QCJ+2V", "short plus code"),
        ("53.2N 9.1", "both numbers"),
        ("-53.2N 9.1W", "not both"),
        ("53.2N 9.1S", "E or W"),
        ("53°72'N 9°W", "below 60"),
        ("geo:53.2", "geo URI"),
        ("geo:53.2,-9.1;crs=other", "WGS 84"),
        ("geo:91,0", "latitude 91"),
        ("behind the church", "no position"),
        ("", "no position"),
        ("nan, nan", "no position"),
    ],
)
def test_a_position_that_cannot_be_right_is_refused_with_its_reason(text, reason):
    with pytest.raises(RefusedInputError, match=reason) as refusal:
        parse_position(text)
    assert refusal.value.field == "position"


@given(positions)
def test_decimal_degrees_and_geo_uri_come_back_within_ten_centimetres(position):
    for write in (decimal_degrees, geo_uri):
        found = parse_position(write(position))
        assert found.lat == pytest.approx(position.lat, abs=6e-7)
        assert found.lon == pytest.approx(position.lon, abs=6e-7)


def in_seconds(value, letters):
    """Degrees, minutes and tenths of seconds."""
    minutes, tenths = divmod(round(abs(value) * 36_000), 600)
    degrees, minutes = divmod(minutes, 60)
    return f"{degrees}°{minutes:02d}'{tenths / 10:04.1f}\"{letters[value < 0]}"


@given(positions)
def test_degrees_minutes_seconds_come_back_within_two_metres(position):
    found = parse_position(f"{in_seconds(position.lat, 'NS')} {in_seconds(position.lon, 'EW')}")
    assert found.lat == pytest.approx(position.lat, abs=1.5e-5)
    assert found.lon == pytest.approx(position.lon, abs=1.5e-5)


@given(positions)
def test_a_plus_code_comes_back_within_its_square(position):
    # Open Location Code, the reference library: ten digits are a square of about 14 m
    found = parse_position(openlocationcode.encode(position.lat, position.lon))
    assert found.lat == pytest.approx(position.lat, abs=7e-5)
    assert found.lon == pytest.approx(position.lon, abs=7e-5)


def test_a_geo_uri_is_written_with_dots_and_without_spaces():
    # Mayrhofer and Spanring, RFC 5870, 2010: geo:lat,lon with decimal points.
    assert geo_uri(Position(38.0484, -84.4943)) == "geo:38.0484,-84.4943"
