"""A route for other programs: GPX 1.1, GeoJSON (RFC 7946) and geo links (RFC 5870)."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr


@dataclass(frozen=True)
class RoutePoint:
    """One place on a route: WGS 84 decimal degrees, times timezone-aware (None: not timed)."""

    name: str
    lat: float
    lon: float
    arrive: dt.datetime | None = None
    leave: dt.datetime | None = None
    note: str = ""


def degrees(value: float) -> str:
    """Give decimal degrees to 6 decimals (about 10 cm), never with an exponent."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def geo_uri(lat: float, lon: float) -> str:
    """Give a `geo:` link (RFC 5870): latitude first."""
    return f"geo:{degrees(lat)},{degrees(lon)}"


def _utc(moment: dt.datetime) -> str:
    return moment.astimezone(dt.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _gpx_point(point: RoutePoint) -> str:
    """Give one rtept; its children stand in the order the GPX 1.1 schema asks for."""
    at = f"lat={quoteattr(degrees(point.lat))} lon={quoteattr(degrees(point.lon))}"
    time = f"<time>{_utc(point.arrive)}</time>" if point.arrive else ""
    note = f"<desc>{escape(point.note)}</desc>" if point.note else ""
    return f"    <rtept {at}>{time}<name>{escape(point.name)}</name>{note}</rtept>\n"


def gpx(title: str, points: tuple[RoutePoint, ...]) -> str:
    """Give a GPX 1.1 document with one route."""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx version="1.1" creator="fieldnotes" xmlns="http://www.topografix.com/GPX/1/1">\n'
        f"  <rte>\n    <name>{escape(title)}</name>\n"
        f"{''.join(_gpx_point(point) for point in points)}  </rte>\n</gpx>\n"
    )


def _feature(point: RoutePoint) -> dict[str, object]:
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": _lon_lat(point)},
        "properties": {
            "name": point.name,
            "arrive": point.arrive.isoformat() if point.arrive else None,
            "leave": point.leave.isoformat() if point.leave else None,
            "note": point.note,
            "geo": geo_uri(point.lat, point.lon),
        },
    }


def _lon_lat(point: RoutePoint) -> list[float]:
    """Give a position as RFC 7946 has it: longitude first."""
    return [float(degrees(point.lon)), float(degrees(point.lat))]


def geojson(title: str, points: tuple[RoutePoint, ...]) -> str:
    """Give a GeoJSON FeatureCollection: the stops, and the line through them if there are two."""
    features = [_feature(point) for point in points]
    if len(points) > 1:
        line = {"type": "LineString", "coordinates": [_lon_lat(point) for point in points]}
        features.append({"type": "Feature", "geometry": line, "properties": {"name": title}})
    collection = {"type": "FeatureCollection", "features": features}
    return json.dumps(collection, ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def text(points: tuple[RoutePoint, ...]) -> str:
    """Give the route as plain lines: times, name, link, note."""
    lines = []
    for point in points:
        arrive = f"{point.arrive:%H:%M}" if point.arrive else "--:--"
        leave = f"{point.leave:%H:%M}" if point.leave else "--:--"
        line = f"{arrive}-{leave}  {point.name}  {geo_uri(point.lat, point.lon)}"
        lines.append(f"{line}  {point.note}".rstrip())
    return "\n".join(lines) + "\n" if lines else ""
