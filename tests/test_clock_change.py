"""A round on the day the clocks change: minutes are true ones, clocks are the practice's.

Summer Time Order 2002 (United Kingdom): at 1 h UTC forward on 28 March 2027, back on 25
October 2026.
"""

from __future__ import annotations

import datetime as dt
import json
import re
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from fieldnotes.casework.desk import Casework
from fieldnotes.cli.demo import make_demo
from fieldnotes.cli.main import main
from fieldnotes.domain.entries import PracticeSet
from fieldnotes.domain.patients import Position
from fieldnotes.planning.arrival import arrival_window
from fieldnotes.planning.roundtrips import RoundVisit, plan_rounds
from fieldnotes.planning.route_clock import minutes_between, minutes_later
from fieldnotes.planning.route_day import Ground, Workday
from fieldnotes.planning.travel import TravelModel
from fieldnotes.storage.casebook import Casebook
from fieldnotes.tui.fields.moments import read_moment

LONDON = ZoneInfo("Europe/London")
MINUTE = dt.timedelta(minutes=1)
FORWARD, BACK = dt.date(2027, 3, 28), dt.date(2026, 10, 25)


@pytest.fixture(params=[(FORWARD, 1), (BACK, 0)], ids=["forward", "back"])
def day(request, tmp_path):
    """Give (store, its desk, the moment, hours ahead of UTC once the clocks have changed)."""
    date, ahead = request.param
    now = dt.datetime.combine(date, dt.time(0, 10), LONDON).astimezone(dt.UTC)
    make_demo(tmp_path / "store", now)
    desk = Casework(Casebook(tmp_path / "store"), lambda: now)
    practice = desk.register().practice
    desk.save(PracticeSet(replace(practice, zone="Europe/London")))
    return tmp_path / "store", desk, now, dt.timedelta(hours=ahead)


def moments(stop):
    return [dt.datetime.fromisoformat(stop[k]) for k in ("arrive", "start", "leave")]


@pytest.mark.parametrize("start", [(7, 30), (0, 30)], ids=["day", "night"])
def test_drives_and_stays_add_up_in_true_minutes_and_every_output_says_the_same(
    day, start, capsysbinary
):
    store, desk, now, ahead = day
    practice = desk.register().practice
    desk.save(PracticeSet(replace(practice, day_start=dt.time(*start))))

    def printed(*words):
        assert main(["--data", str(store), "--now", now.isoformat(), "route", *words]) == 0
        return capsysbinary.readouterr().out.decode()

    route = json.loads(printed("--json"))
    stops = route["stops"]
    assert len(stops) > 2
    left = dt.datetime.fromisoformat(route["start"])
    for stop in stops:
        arrive, begin, leave = moments(stop)
        assert minutes_between(left, arrive) == pytest.approx(stop["drive_min"], abs=0.05)
        assert minutes_between(arrive, begin) == pytest.approx(stop["wait_min"], abs=0.05)
        assert arrive.utcoffset() == arrive.astimezone(LONDON).utcoffset()
        left = leave
    assert left.utcoffset() == ahead
    events = Calendar.from_ical(printed("--format", "calendar"))
    told = {str(e["summary"]): (e["dtstart"].dt, e["dtend"].dt) for e in events.walk("VEVENT")}
    text = printed()
    for stop in stops:
        arrive, _, leave = moments(stop)
        assert abs(told[stop["premises"]][0] - arrive) < MINUTE / 30
        assert abs(told[stop["premises"]][1] - leave) < MINUTE / 30
        assert re.search(rf"{arrive:%H:%M}.*{re.escape(stop['premises'])}", text)


@pytest.mark.parametrize(("date", "fit"), [(FORWARD, 2), (BACK, 4)], ids=str)
def test_a_night_is_planned_as_long_as_it_is(date, fit):
    # From 0:30 to 4:00 it is two and a half hours in spring, four and a half in autumn.
    night = [dt.datetime.combine(date, t, LONDON) for t in (dt.time(0, 30), dt.time(4))]
    here = Position(52.0, -2.5)
    visits = tuple(RoundVisit(str(n), str(n), here, 60, date, date, date) for n in range(5))
    ground = Ground(LONDON, here, TravelModel())
    rounds = plan_rounds(ground, (Workday(date, *night),), visits, seeds=(1,))
    assert len(rounds.days[0].stops) == fit
    assert len(rounds.unplaced) == 5 - fit
    assert rounds.days[0].finish <= night[1]


@pytest.mark.parametrize(("date", "later"), [(FORWARD, (2, 20)), (BACK, (1, 20))], ids=str)
def test_minutes_are_counted_over_the_change_of_the_clocks(date, later):
    before = dt.datetime.combine(date, dt.time(0, 50), LONDON)
    if date == BACK:
        before = before.replace(hour=1)  # 01:50 in summer time, the first of two
    after = minutes_later(before, 30)
    assert (after.hour, after.minute) == later
    assert minutes_between(before, after) == 30
    assert minutes_between(minutes_later(after, -30), before) == 0
    assert minutes_between(*arrival_window(after, 20.0)) in (45, 60)
    assert minutes_between(read_moment("4h", minutes_later(before, 200)), before) == 40
