"""The day's route for people and programs: one position in all, and what the truck lacks."""

from __future__ import annotations

import datetime as dt
import json
import re

import pytest
from icalendar import Calendar

from fieldnotes.casework.desk import Casework
from fieldnotes.cli.demo import make_demo
from fieldnotes.cli.main import main
from fieldnotes.domain.driving import StockLine
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.planning.supplies import Load, with_stock
from fieldnotes.storage.casebook import Casebook

NOW = dt.datetime(2026, 3, 2, 7, 0, tzinfo=dt.UTC)


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    folder = tmp_path_factory.mktemp("outputs") / "store"
    make_demo(folder, NOW)
    return folder


def printed(store, capsysbinary, *words):
    assert main(["--data", str(store), "--now", NOW.isoformat(), *words]) == 0
    return capsysbinary.readouterr().out.decode()


def test_the_same_position_stands_in_every_output(store, capsysbinary):
    def route(form):
        return printed(store, capsysbinary, "route", "--format", form)

    whole = json.loads(route("json"))
    wanted = {s["premises"]: (s["lat"], s["lon"]) for s in whole["stops"]}
    assert wanted
    point = re.compile(r'<rtept lat="(.*?)" lon="(.*?)">.*?<name>(.*?)</name>')
    gpx = {name: (float(lat), float(lon)) for lat, lon, name in point.findall(route("gpx"))}
    points = [f for f in json.loads(route("geojson"))["features"]
              if f["geometry"]["type"] == "Point"]  # fmt: skip
    geojson = {f["properties"]["name"]: tuple(f["geometry"]["coordinates"][::-1]) for f in points}
    events = Calendar.from_ical(route("calendar")).walk("VEVENT")
    calendar = {str(e["summary"]): (e["geo"].latitude, e["geo"].longitude) for e in events}
    links = {s["premises"]: s["geo"] for s in whole["stops"]}
    for form in (gpx, geojson, calendar):
        for name, position in wanted.items():
            assert form[name] == pytest.approx(position, abs=1e-6)
    text, markdown = route("text"), route("markdown")
    for name, (lat, lon) in wanted.items():
        found = re.fullmatch(r"geo:([-\d.]+),([-\d.]+)", links[name])
        assert (float(found[1]), float(found[2])) == pytest.approx((lat, lon), abs=1e-6)
        assert re.search(rf"{re.escape(name)} +{re.escape(links[name])}", text)
        assert f"[{name}]({links[name]})" in markdown


def test_the_calendar_gives_each_stop_its_time(store, capsysbinary):
    whole = json.loads(printed(store, capsysbinary, "route", "--json"))
    text = printed(store, capsysbinary, "route", "--format", "calendar")
    events = {str(e["summary"]): e for e in Calendar.from_ical(text).walk("VEVENT")}
    for stop in whole["stops"]:
        arrive = dt.datetime.fromisoformat(stop["arrive"])
        assert abs(events[stop["premises"]]["dtstart"].dt - arrive) < dt.timedelta(seconds=1)
    assert "METHOD:PUBLISH" in text
    assert "ATTENDEE" not in text


def test_what_the_truck_is_short_of_stands_first():
    loads = (Load("bandage", 3, "roll", ("A",)), Load("gloves", 4, "pair", ("A",)),
             Load("swabs", 2, "pack", ("A",)))  # fmt: skip
    counted = (StockLine("x", "Gloves", 1, "pair"), StockLine("y", "swabs", 9, "pack"))
    found = with_stock(loads, {s.id: s for s in counted})
    assert [(x.item, x.short) for x in found] == [("gloves", 3), ("bandage", 0), ("swabs", 0)]
    assert found[1].stock is None


def test_a_count_is_kept_and_its_shortage_shown_on_the_day_sheet(store, capsysbinary):
    gloves = next(x for x in json.loads(printed(store, capsysbinary, "route", "--json"))["load"]
                  if x["item"] == "gloves")  # fmt: skip
    less = gloves["count"] - 2
    printed(store, capsysbinary, "stock", "gloves", str(less))
    sheet = printed(store, capsysbinary, "route")
    assert f"load:\n  {gloves['count']:g} pairs gloves (short of 2)" in sheet
    assert f"load for Mon 02 Mar:\n  {gloves['count']:g} pairs gloves (short of 2)" in printed(
        store, capsysbinary, "due"
    )
    [line] = json.loads(printed(store, capsysbinary, "stock", "--json"))
    assert (line["item"], line["count"], line["unit"]) == ("gloves", less, "pair")


def test_a_break_is_planned_where_the_practice_wants_one_and_caps_are_kept(tmp_path):
    make_demo(tmp_path / "store", NOW)
    desk = Casework(Casebook(tmp_path / "store"), lambda: NOW)
    desk.road.shape_days((dt.time(12), dt.time(13, 30), 30.0), 3, 150.0)
    pause = desk.board().route.pause
    assert pause[1] - pause[0] == dt.timedelta(minutes=30)
    coming = desk.road.rounds(5, lambda done, _of, _cost: done < 2)
    assert max(len(day.stops) for day in coming.rounds.days) <= 3
    for day in coming.rounds.days:
        assert sum((s.leave - s.start).total_seconds() / 60 for s in day.stops) <= 150.1
    with pytest.raises(RefusedInputError, match="latest start"):
        desk.road.shape_days((dt.time(14), dt.time(13), 30.0), None, None)


def test_a_day_told_to_an_owner_is_kept_by_the_rounds_unless_it_is_listed(tmp_path):
    make_demo(tmp_path / "store", NOW)
    desk = Casework(Casebook(tmp_path / "store"), lambda: NOW)
    for stop in [s.stop for s in desk.road.live().plan.stops]:
        for text in desk.road.texts(stop):
            desk.road.tell(text)
    coming = desk.road.rounds(5, lambda done, _of, _cost: done < 2)
    told = {p.premises for p in desk.road.live().promises}
    known = {v.id: v.premises for v in coming.visits}
    today = {known[s.stop] for s in coming.rounds.days[0].stops}
    moved = {known[visit] for visit, _ in coming.rounds.moved if visit in known}
    assert told
    assert told <= today | moved
    assert len(today & told) > len(told) / 2


def test_a_visit_overdue_or_due_at_a_weekend_gets_a_later_day_rather_than_none(tmp_path):
    friday = dt.datetime(2026, 3, 6, 7, 0, tzinfo=dt.UTC)
    make_demo(tmp_path / "store", friday)
    desk = Casework(Casebook(tmp_path / "store"), lambda: friday)
    desk.road.shape_days(None, 3, None)
    coming = desk.road.rounds(8, lambda done, _of, _cost: done < 2)
    assert not any("no working day" in why for _, why in coming.rounds.unplaced)
    overdue = {v.id for v in coming.visits if min(t.latest for t in v.tasks) < friday.date()}
    later = {s.stop for day in coming.rounds.days[1:] for s in day.stops}
    assert overdue & later
