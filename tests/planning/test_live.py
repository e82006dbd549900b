"""The day as it runs: what stays, what a new plan must be worth, and what it costs."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from fieldnotes.domain.driving import Stay
from fieldnotes.domain.patients import Position
from fieldnotes.knowledge.service import load_services
from fieldnotes.planning.arrival import Spread, arrival_window, stay_spread
from fieldnotes.planning.learned import learned
from fieldnotes.planning.live import Announced, Standing, price_words, replan
from fieldnotes.planning.route_day import Ground, Stop, Workday
from fieldnotes.planning.travel import Place, TravelModel

ZONE = ZoneInfo("Europe/London")
DAY = dt.date(2026, 11, 25)
GROUND = Ground(ZONE, Position(52.0, -2.5), TravelModel())
WHOLE = Workday(DAY, dt.datetime(2026, 11, 25, 7, 30, tzinfo=ZONE),
                dt.datetime(2026, 11, 25, 18, 0, tzinfo=ZONE))  # fmt: skip


def at(hour, minute=0):
    return dt.datetime.combine(DAY, dt.time(hour, minute), ZONE)


def stop(name, north_km=10.0, east_km=0.0, **more):
    place = Position(52.0 + north_km / 111.3, -2.5 + east_km / 68.7)
    return Stop(name, name, place, 30.0, **more)


ROUND = (("a", 5, 0), ("b", 12, 0), ("c", 12, 12), ("d", 0, 12))
LINE = tuple(stop(*place) for place in ROUND)


def standing(hour=9, minute=0, *, north_km=0.0, place="base", heading=""):
    return Standing(
        Place(place, Position(52.0 + north_km / 111.3, -2.5)), at(hour, minute), heading
    )


def order(route):
    return tuple(s.stop for s in route.stops)


def announced(*names, stops=LINE, **more):
    return Announced(names, tuple(s for s in stops if s.id in names), **more)


def test_an_announced_order_stays_when_another_saves_little():
    near = (stop("a", 5), stop("b", 6), stop("c", 7))
    found = replan(GROUND, WHOLE, near, standing(), announced("b", "a", "c", stops=near))
    assert order(found.plan) == ("b", "a", "c")
    assert found.proposal is None


def test_an_order_that_saves_ten_minutes_is_proposed_with_its_price():
    far = (stop("a", 5), stop("b", 30), stop("c", 10))
    found = replan(GROUND, WHOLE, far, standing(), announced("a", "b", "c", stops=far))
    assert found.proposal is None  # out and back again: the same road
    sides = (stop("w", 0, -20), stop("e", 0, 20), stop("w2", 0, -21))
    found = replan(GROUND, WHOLE, sides, standing(), announced("w", "e", "w2", stops=sides))
    assert order(found.plan) == ("w", "e", "w2")
    assert found.proposal is not None
    assert found.plan.drive_min - found.proposal.drive_min >= 10
    assert "saves" in found.why


def test_an_order_that_cures_lateness_is_proposed_however_little_it_saves():
    early = stop("c", 7, windows=((at(9), at(9, 30)),))
    near = (stop("a", 5), stop("b", 6), early)
    found = replan(GROUND, WHOLE, near, standing(), announced("a", "b", "c", stops=near))
    assert sum(s.late_min for s in found.plan.stops) > 0
    assert found.proposal is not None
    assert sum(s.late_min for s in found.proposal.stops) == 0
    assert found.why == "less lateness"


def test_a_call_is_proposed_where_it_disturbs_least_and_the_old_plan_stays():
    call = stop("call", 12, 3)
    found = replan(GROUND, WHOLE, (*LINE, call), standing(), announced("a", "b", "c", "d"))
    assert order(found.plan) == ("a", "b", "c", "d")
    assert order(found.proposal) == ("a", "b", "call", "c", "d")
    assert found.price.added == ("call",)
    assert [s.stop for s in found.price.shifts] == ["c", "d"]
    words = price_words(found.price)
    added = found.proposal.drive_min - found.plan.drive_min
    assert words.startswith(f"+{added:.0f} min driving, 2 stops ")
    assert "later" in words


def test_an_urgent_call_is_reached_in_time_though_the_order_is_given_up():
    urgent = stop("now", -20, urgency="now", by=at(9, 40))
    found = replan(GROUND, WHOLE, (*LINE, urgent), standing(), announced("a", "b", "c", "d"))
    assert order(found.proposal)[0] == "now"
    assert found.proposal.stops[0].late_min == 0


def test_a_call_that_cannot_be_reached_in_its_hour_is_reached_as_soon_as_it_can():
    urgent = stop("now", -60, urgency="now", by=at(9, 20))
    found = replan(GROUND, WHOLE, (*LINE, urgent), standing(), announced("a", "b", "c", "d"))
    assert order(found.proposal)[0] == "now"
    assert found.proposal.stops[0].late_min == 0


def test_the_stop_that_is_being_driven_to_stays_next():
    here = standing(9, 0, north_km=4, place="x", heading="d")
    found = replan(GROUND, WHOLE, LINE, here, announced("d", "a", "b", "c"))
    assert order(found.plan)[0] == "d"
    assert found.proposal is None or order(found.proposal)[0] == "d"


def test_on_the_road_nobody_waits_before_driving_on():
    late = (stop("a", 5, windows=((at(11), at(12)),)),)
    here = standing(9, 0, north_km=4, place="x")
    found = replan(GROUND, WHOLE, late, here, announced("a", stops=late))
    assert found.plan.start == at(9)
    assert found.plan.stops[0].wait_min > 60
    at_base = replan(GROUND, WHOLE, late, standing(), announced("a", stops=late))
    assert at_base.plan.stops[0].wait_min == 0


def test_a_stop_put_off_is_not_proposed_again_until_there_is_room():
    full = (stop("a", 60), stop("b", -60, skip_penalty=1000.0))
    found = replan(GROUND, WHOLE, full, standing(15), announced("a", stops=full, left_out=("b",)))
    assert found.proposal is None
    assert [s for s, _ in found.plan.skipped] == ["b"]
    found = replan(GROUND, WHOLE, full, standing(9), announced("a", stops=full, left_out=("b",)))
    assert "room again" in found.why


def test_with_nothing_left_the_way_home_is_the_plan():
    here = standing(16, 0, north_km=20, place="x")
    found = replan(GROUND, WHOLE, (), here, announced(stops=()))
    assert found.plan.drive_min == pytest.approx(2 + 1.35 * 20, abs=0.2)
    assert found.plan.finish > at(16, 25)


def test_equal_days_are_replanned_equally():
    call = stop("call", 12, 3)
    runs = [replan(GROUND, WHOLE, (*LINE, call), standing(), announced("a", "b", "c", "d"))
            for _ in range(2)]  # fmt: skip
    assert runs[0] == runs[1]


@pytest.mark.parametrize(
    ("arrive", "spread", "opens", "closes"),
    [
        (at(10, 7), 5, at(10), at(10, 30)),  # rounded outwards, then widened to half an hour
        (at(10, 15), 0, at(10, 15), at(10, 45)),
        (at(10, 40), 20, at(10, 15), at(11)),
        (at(0, 5), 0, at(0), at(0, 30)),
    ],
)
def test_an_owners_window_is_rounded_outwards_and_half_an_hour_at_least(
    arrive, spread, opens, closes
):
    assert arrival_window(arrive, spread) == (opens, closes)


def test_the_window_widens_down_the_day():
    spread = Spread(6.0, 8.0)
    assert spread.before(1) == 6.0
    assert spread.before(2) == pytest.approx((36 + 36 + 64) ** 0.5)
    assert spread.before(5) > spread.before(4)


def test_minutes_are_learned_from_five_visits_of_one_kind():
    services = load_services()
    table = services.get("recheck").minutes
    stays = tuple(Stay(services.stop_min + services.horse_min + m, 25, ("recheck",))
                  for m in (22, 24, 26, 28, 90))  # fmt: skip
    assert learned(services, stays[:4]).get("recheck").minutes == table
    assert learned(services, stays).get("recheck").minutes == 26
    mixed = tuple(Stay(60, 25, ("drain out", "recheck")) for _ in range(9))
    assert learned(services, mixed) == services
    assert stay_spread(stays[:4]) == 5.0
    assert stay_spread(stays) == 13.0
