"""Positions as people type them: decimal degrees, degrees-minutes-seconds, geo URI, plus code."""

from __future__ import annotations

import math
import re

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.patients import Position

FIELD = "position"
_NUMBER = r"\d+(?:\.\d+)?"
_DECIMAL = re.compile(rf"([+-]?{_NUMBER})\s*°?\s*([NSEW]?)[\s,;]+([+-]?{_NUMBER})\s*°?\s*([NSEW]?)")
_ANGLE = (
    rf"({_NUMBER})\s*(?:°|D|:|\s)\s*(?:({_NUMBER})\s*(?:['\u2032\u2019M]|:|\s)?\s*)?"
    rf"(?:({_NUMBER})\s*(?:[\"\u2033\u201d]|''|S(?=\s*[NSEW]))?\s*)?([NSEW])"
)
_DMS = re.compile(rf"{_ANGLE}[\s,;]*{_ANGLE}")
_LEADING = re.compile(r"([NSEW])\s*([^NSEW]+?)[\s,;]*([NSEW])\s*([^NSEW]+)")
_GEO = re.compile(
    rf"(-?{_NUMBER}),(-?{_NUMBER})(?:,-?{_NUMBER})?((?:;[\w-]+(?:=[^;\s]*)?)*)", re.IGNORECASE
)


def _refuse(reason: str) -> RefusedInputError:
    return RefusedInputError(FIELD, reason)


def _checked(lat: float, lon: float) -> Position:
    if not (math.isfinite(lat) and math.isfinite(lon)):
        raise _refuse("a position has two plain numbers")
    if not -90 <= lat <= 90:
        swapped = "; are latitude and longitude swapped?" if -90 <= lon <= 90 else ""
        raise _refuse(f"latitude {lat:g} is not within -90 to 90{swapped}")
    if not -180 <= lon <= 180:
        raise _refuse(f"longitude {lon:g} is not within -180 to 180")
    return Position(lat, lon)


def _by_letters(first: float, one: str, second: float, two: str) -> Position:
    """Put two angles in order by their letters; without letters latitude stands first."""
    if bool(one) != bool(two):
        raise _refuse("give a letter (N, S, E, W) to both numbers or to none")
    if one and (first < 0 or second < 0):
        raise _refuse("give a sign or a letter, not both")
    a = -first if one in {"S", "W"} else first
    b = -second if two in {"S", "W"} else second
    if one and (one in "NS") == (two in "NS"):
        raise _refuse("one number is for N or S, the other for E or W")
    return _checked(b, a) if one in {"E", "W"} else _checked(a, b)


def _angle(degrees: str, minutes: str | None, seconds: str | None) -> float:
    whole, small = float(minutes or 0), float(seconds or 0)
    if whole >= 60 or small >= 60:
        raise _refuse("minutes and seconds are below 60")
    return float(degrees) + whole / 60 + small / 3600


def _geo(text: str) -> Position:
    found = _GEO.fullmatch(text[4:].strip())
    if found is None:
        raise _refuse("a geo URI is written geo:lat,lon with decimal points, such as geo:53.2,-9.1")
    names = [p.partition("=") for p in found[3].casefold().split(";")[1:]]
    if any(name == "crs" and value != "wgs84" for name, _, value in names):
        raise _refuse("only WGS 84 positions can be read")
    return _checked(float(found[1]), float(found[2]))


def _plus_code(text: str) -> Position:
    from openlocationcode import openlocationcode as olc  # type: ignore[import-untyped]  # noqa: PLC0415  (late, for print-only commands)

    code = text.upper()
    if not olc.isValid(code):
        raise _refuse(f"{text!r} is no plus code")
    if not olc.isFull(code):
        raise _refuse("a short plus code needs its town; give the full code, such as 9C3W9QCJ+2V")
    area = olc.decode(code)
    return _checked(area.latitudeCenter, area.longitudeCenter)


def parse_position(text: str) -> Position:
    """Read a position in any of the forms above; RefusedInputError says what is wrong.

    Examples: "53.2, -9.1", "53.2N 9.1W", 53°12'30"N 9°06'00"W, geo:53.2,-9.1 (RFC 5870), a
    full plus code.
    """
    typed = text.strip()
    if typed.casefold().startswith("geo:"):
        return _geo(typed)
    if "+" in typed[1:] and re.fullmatch(r"[0-9A-Za-z]+\+[0-9A-Za-z]*", typed):
        return _plus_code(typed)
    plain = re.sub(r"\s+", " ", typed.upper().replace("\u00ba", "°").replace("\u2212", "-"))
    leading = _LEADING.fullmatch(plain)
    if leading is not None:
        plain = f"{leading[2]} {leading[1]} {leading[4].strip()} {leading[3]}"
    decimal = _DECIMAL.fullmatch(plain)
    if decimal is not None:
        return _by_letters(float(decimal[1]), decimal[2], float(decimal[3]), decimal[4])
    dms = _DMS.fullmatch(plain)
    if dms is None:
        raise _refuse(
            f"{text!r} is no position: give 53.2, -9.1 or 53°12'30\"N 9°06'00\"W, "
            "a geo: address or a full plus code"
        )
    return _by_letters(_angle(*dms.group(1, 2, 3)), dms[4], _angle(*dms.group(5, 6, 7)), dms[8])


def _plain(number: float, digits: int) -> str:
    text = f"{number:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def decimal_degrees(position: Position, digits: int = 6) -> str:
    """Give "lat, lon"; six decimals are about 10 cm."""
    return f"{_plain(position.lat, digits)}, {_plain(position.lon, digits)}"


def geo_uri(position: Position, digits: int = 6) -> str:
    """Give the geo: URI (RFC 5870)."""
    return f"geo:{_plain(position.lat, digits)},{_plain(position.lon, digits)}"
