"""The same position in every route file."""

from __future__ import annotations

import datetime as dt
import json
from xml.etree import ElementTree as ET

from fieldnotes.rendering.route_files import RoutePoint, geo_uri, geojson, gpx, text

AT = dt.datetime(2026, 11, 25, 9, 5, tzinfo=dt.timezone(dt.timedelta(hours=-5)))
YARD = RoutePoint("Hill & Dale <yard>", 38.048400, -84.494300, AT, AT, "gate code]]> asked")
BASE = RoutePoint("Base", 38.0, -84.5)
GPX = "{http://www.topografix.com/GPX/1/1}"


def test_geo_link_has_latitude_first_and_geojson_longitude_first():
    # RFC 5870 (2010) and RFC 7946 (2016).
    assert geo_uri(YARD.lat, YARD.lon) == "geo:38.0484,-84.4943"
    stop = json.loads(geojson("Round", (YARD, BASE)))["features"][0]
    assert stop["geometry"]["coordinates"] == [-84.4943, 38.0484]


def test_the_position_is_the_same_in_all_four_files():
    point = ET.fromstring(gpx("Round", (YARD, BASE))).find(f"{GPX}rte/{GPX}rtept")  # noqa: S314
    in_gpx = float(point.get("lat")), float(point.get("lon"))
    lon, lat = json.loads(geojson("Round", (YARD,)))["features"][0]["geometry"]["coordinates"]
    assert in_gpx == (lat, lon) == (YARD.lat, YARD.lon)
    assert "geo:38.0484,-84.4943" in text((YARD,))


def test_gpx_keeps_names_as_written_time_in_utc_and_the_schema_order():
    # GPX 1.1 schema (2004): time before name before desc.
    point = ET.fromstring(gpx("R & D", (YARD,))).find(f"{GPX}rte/{GPX}rtept")  # noqa: S314
    assert [child.tag.removeprefix(GPX) for child in point] == ["time", "name", "desc"]
    assert [c.text for c in point] == ["2026-11-25T14:05:00Z", YARD.name, YARD.note]


def test_a_position_close_to_zero_has_no_exponent_or_sign():
    assert geo_uri(-0.0000001, 0.00001) == "geo:0,0.00001"


def test_a_line_needs_two_stops():
    assert len(json.loads(geojson("Round", (YARD,)))["features"]) == 1
    assert json.loads(geojson("Round", ()))["features"] == []
    assert text(()) == ""
