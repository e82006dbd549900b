"""Routes of real days."""

from __future__ import annotations

import datetime as dt
import time
from zoneinfo import ZoneInfo

import pytest

from fieldnotes.domain.patients import Position
from fieldnotes.planning.roundtrip import plan_route
from fieldnotes.planning.route_clock import CLEAN_DOWN
from fieldnotes.planning.route_day import Ground, Stop, Workday
from fieldnotes.planning.travel import TravelModel

ZONE = ZoneInfo("Europe/London")
DAY = dt.date(2026, 11, 25)
GROUND = Ground(ZONE, Position(52.0, -2.5), TravelModel())


def at(hour, minute=0, day=DAY):
    return dt.datetime.combine(day, dt.time(hour, minute), ZONE)


def stop(name, north_km=10.0, east_km=0.0, **more):
    place = Position(52.0 + north_km / 111.3, -2.5 + east_km / 68.7)
    return Stop(name, f"p-{name}", place, 30.0, **more)


def route(*stops, start=None, end=None, **more):
    day = Workday(DAY, start or at(7, 30), end or at(18))
    return plan_route(GROUND, day, stops, **more)


def names(planned):
    return [s.stop for s in planned.stops]


def test_every_stop_is_on_the_route_once_or_explained():
    lost = Stop("lost", "p-lost", None, 20.0)
    planned = route(stop("a"), stop("b", 20), lost)
    assert sorted(names(planned)) == ["a", "b"]
    assert [u[0] for u in planned.unreached] == ["lost"]


def test_times_add_up():
    planned = route(stop("a"), stop("b", 20, 5), stop("c", -8, 3))
    clock = planned.start
    for s in planned.stops:
        assert (s.arrive - clock).total_seconds() / 60 == pytest.approx(s.drive_min, abs=0.01)
        assert s.start - s.arrive == dt.timedelta(minutes=s.wait_min)
        assert (s.leave - s.start).total_seconds() / 60 == pytest.approx(30, abs=0.01)
        clock = s.leave
    home = (planned.finish - clock).total_seconds() / 60
    driven = home + sum(s.drive_min for s in planned.stops)
    assert driven == pytest.approx(planned.drive_min, abs=0.1)


def test_no_stops_is_an_empty_day():
    planned = route()
    assert (planned.stops, planned.drive_min, planned.optimal) == ((), 0, True)


def test_the_infected_wound_is_seen_last_unless_it_cannot_wait():
    infected = stop("infected", 5, contaminated=True)
    assert names(route(infected, stop("far", 30), stop("mid", 15)))[-1] == "infected"
    urgent = stop("infected", 5, contaminated=True, urgency="now", windows=((at(7), at(8)),))
    planned = route(urgent, stop("far", 30), stop("mid", 15))
    assert names(planned)[0] == "infected"
    assert planned.stops[0].note == CLEAN_DOWN


def test_locks_are_kept():
    stops = (stop("a", 30, lock="first"), stop("b", 2), stop("c", 4, lock="final"))
    assert names(route(*stops)) == ["a", "b", "c"]


def test_when_two_owners_want_the_same_hour_the_urgent_one_is_on_time():
    hour = ((at(9), at(9, 10)),)
    planned = route(
        stop("routine", 20, windows=hour), stop("urgent", -20, windows=hour, urgency="now")
    )
    late = {s.stop: s.late_min for s in planned.stops}
    assert late["urgent"] == 0
    assert late["routine"] > 0
    assert "routine" in planned.notes[-1]


def test_a_full_day_leaves_the_cheapest_stop_out_and_says_so():
    stops = tuple(stop(f"s{i}", 30, i * 5, skip_penalty=40.0 + i) for i in range(5))
    planned = route(*stops, end=at(10))
    assert len(planned.stops) + len(planned.skipped) == 5
    assert planned.skipped


def test_a_stop_that_must_be_served_is_never_dropped_but_late():
    stops = tuple(stop(f"s{i}", 30, i * 5) for i in range(5))
    planned = route(*stops, end=at(10))
    assert len(planned.stops) == 5
    assert any("after the day ends" in note for note in planned.notes)


def test_the_break_gives_way_before_a_stop_does():
    pause = (at(12), at(13, 30), 30.0)
    kept = route(stop("a", 30), stop("b", 30, 20), stop("c", -30), pause=pause)
    assert kept.pause is not None
    assert at(12) <= kept.pause[0] <= at(13, 30)
    lost = route(stop("a", windows=((at(8), at(8, 30)),)), end=at(10), pause=pause)
    assert lost.pause is None
    assert lost.notes == ("no break fits",)


def test_a_day_on_which_the_clocks_change_keeps_its_real_minutes():
    # The clocks went forward at 01:00 UTC on 2026-03-29 in London (EU rule: last Sunday of March).
    day = dt.date(2026, 3, 29)
    start, end = at(0, 30, day), at(12, 0, day)
    planned = plan_route(GROUND, Workday(day, start, end), (stop("a", 40),))
    only = planned.stops[0]
    gone = only.arrive.astimezone(dt.UTC) - planned.start.astimezone(dt.UTC)
    assert gone.total_seconds() / 60 == pytest.approx(only.drive_min, abs=0.01)
    assert only.arrive.utcoffset() == dt.timedelta(hours=1)


def test_twelve_stops_are_proven():
    stops = tuple(stop(f"s{i:02}", (i * 7) % 25 - 12, (i * 11) % 23 - 11) for i in range(12))
    assert route(*stops).optimal


@pytest.mark.parametrize("pause", [None, (at(12), at(13, 30), 30.0)])
def test_of_forty_stops_to_be_seen_today_those_that_fit_are_chosen_at_once(pause):
    places = [((i * 7) % 25 - 12, (i * 11) % 23 - 11) for i in range(40)]
    stops = [stop(f"s{i:02}", *place, urgency="same day") for i, place in enumerate(places)]
    stops[5] = stop("now", 20, urgency="now", by=at(9))
    stops[6] = stop("locked", 18, urgency="same day", lock="final")
    begun = time.process_time()
    planned = route(*stops, pause=pause)
    assert time.process_time() - begun < 3  # 0.9 s on a busy machine
    assert len(planned.stops) + len(planned.skipped) == 40
    assert len(planned.stops) >= 12  # 40 min each with its drive
    assert planned.finish <= planned.end
    assert next(s for s in planned.stops if s.stop == "now").arrive <= at(9)
    assert planned.stops[-1].stop == "locked"
    assert not planned.optimal
    assert planned.notes[0].startswith("more than fits into the day, by ")
