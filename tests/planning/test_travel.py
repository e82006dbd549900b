"""Distances against published geodesics; the travel model against its worked numbers."""

from __future__ import annotations

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.domain.driving import Leg
from fieldnotes.domain.patients import PairDrive, Position
from fieldnotes.planning.travel import Place, TravelModel, distance_km
from fieldnotes.planning.travel_fit import odd_legs, refit, theil_sen, usable

# C. F. F. Karney, "Algorithms for geodesics", J. Geodesy 87, 2013: test cases shipped with the
# author's own library (distances beyond 200 km, where the great circle answers).
KARNEY = [
    (40.6, -73.8, 51.6, -0.5, 5_551_759.400),
    (-41.32, 174.81, 40.96, -5.50, 19_959_679.267),
    (35.60777, -139.44815, -11.17491, -69.95921, 8_935_244.5604818305),
    (55.52454, 106.05087, 77.03196, 197.18234, 4_105_086.1713924406),
    (-21.97856, 142.59065, 41.84138, 98.56635, 8_394_328.894657671),
    (-68.82867, -74.28391, -50.63005, -8.36685, 3_956_936.926063544),
    (-19.79938, -174.47484, -11.99349, -154.35109, 2_319_004.8601169389),
]
# Reckoned with that library for pairs a practice could drive.
NEAR = [
    (52.0, -2.0, 52.12, -1.78, 20_148.391),
    (38.0, -84.5, 38.3, -84.25, 39_863.094),
    (60.0, 0.0, 60.0, 1.0, 55_799.470),
    (59.5, 0.0, 60.5, 0.0, 111_412.273),
    (0.0, 0.0, 0.0, 1.0, 111_319.491),
    (0.0, 0.0, 1.0, 0.0, 110_574.389),
]
# Worked drives (km, minutes): ten clean ones, a roadside stop and a closed bridge.
CLEAN = tuple(
    Leg(km, minutes)
    for km, minutes in [
        (4.2, 9), (7.8, 13), (11.5, 17), (15.0, 22), (18.3, 25),
        (21.7, 31), (25.4, 33), (29.9, 39), (33.6, 44), (40.2, 50),
    ]
)  # fmt: skip
ODD = (Leg(12.4, 47), Leg(9.1, 27))


@pytest.mark.parametrize(("lat1", "lon1", "lat2", "lon2", "metres"), KARNEY)
def test_a_long_line_agrees_with_the_published_geodesic_to_six_in_a_thousand(
    lat1, lon1, lat2, lon2, metres
):
    km = distance_km(Position(lat1, lon1), Position(lat2, lon2))
    assert km == pytest.approx(metres / 1000, rel=6e-3)


@pytest.mark.parametrize(("lat1", "lon1", "lat2", "lon2", "metres"), NEAR)
def test_a_drive_agrees_with_the_geodesic_to_metres(lat1, lon1, lat2, lon2, metres):
    km = distance_km(Position(lat1, lon1), Position(lat2, lon2))
    assert km == pytest.approx(metres / 1000, abs=0.012)


@given(
    st.floats(-60, 60),
    st.floats(-180, 180),
    st.floats(-0.27, 0.27),
    st.floats(-0.27, 0.27),
)
def test_within_a_practice_area_the_error_is_under_two_metres(lat, lon, d_lat, d_lon):
    there = Position(lat + d_lat, lon + d_lon)
    metres = Geodesic.WGS84.Inverse(lat, lon, there.lat, there.lon)["s12"]
    assert distance_km(Position(lat, lon), there) * 1000 == pytest.approx(metres, abs=2.0)


def test_the_date_line_is_no_gap():
    assert distance_km(Position(-17, 179.95), Position(-17, -179.95)) < 11


def test_distance_is_the_same_there_and_back():
    a, b = Position(52.1, -2.3), Position(52.4, -1.9)
    assert distance_km(a, b) == distance_km(b, a)


@pytest.mark.parametrize(("km", "minutes"), [(5, 8.75), (10, 15.5), (20, 29), (40, 56)])
def test_default_minutes_are_two_and_1_35_a_kilometre(km, minutes):
    assert TravelModel().minutes(km) == pytest.approx(minutes)


def test_a_known_drive_beats_the_model_as_driven_first_else_the_way_back():
    base, yard = Place("base", Position(52, -2)), Place("p1", Position(52.12, -1.78))
    there = TravelModel(pairs=(PairDrive("base", "p1", 41),))
    assert there.drive(base, yard)[0] == 41
    assert there.drive(yard, base)[0] == 41
    both = TravelModel(pairs=(PairDrive("base", "p1", 41), PairDrive("p1", "base", 33)))
    assert both.drive(yard, base)[0] == 33
    assert both.drive(base, yard)[0] == 41


def test_theil_sen_gives_the_worked_numbers_and_two_bad_legs_barely_move_it():
    a, b = theil_sen(CLEAN)
    assert (a, b) == (pytest.approx(4.101, abs=5e-4), pytest.approx(1.150, abs=5e-4))
    a, b = theil_sen(CLEAN + ODD)
    assert (a, b) == (pytest.approx(4.542, abs=5e-4), pytest.approx(1.141, abs=5e-4))


def test_the_defaults_hold_until_eight_usable_legs():
    assert refit(CLEAN[:7]).legs == 0
    assert refit(CLEAN[:7]).b_min_per_km == 1.35
    assert refit(CLEAN[:8]).legs == 8


def test_few_legs_are_blended_with_the_defaults():
    model = refit(CLEAN)
    assert model.a_min == pytest.approx((10 * 4.101 + 8 * 2) / 18, abs=1e-3)
    assert model.b_min_per_km == pytest.approx((10 * 1.150 + 8 * 1.35) / 18, abs=1e-3)
    assert refit(CLEAN * 3).b_min_per_km == pytest.approx(theil_sen(CLEAN * 3)[1])


def test_the_slope_stays_between_0_7_and_3_minutes_a_kilometre():
    slow = tuple(Leg(km, 4 * km) for km in range(2, 32))
    fast = tuple(Leg(km, 5 + 0.2 * km) for km in range(2, 32))
    assert refit(slow).b_min_per_km == 3.0
    assert refit(fast).b_min_per_km == 0.7


def test_legs_under_a_kilometre_or_over_three_hours_are_left_out():
    assert usable((Leg(0.9, 4), Leg(40, 181), Leg(10, 15))) == (Leg(10, 15),)


def test_the_roadside_stop_and_the_closed_bridge_are_offered_to_the_pair_table():
    assert odd_legs(CLEAN + ODD) == ODD
    assert odd_legs(CLEAN) == ()


def test_legs_of_one_length_leave_the_defaults():
    assert refit((Leg(10, 15),) * 12).legs == 0
