"""The first screen as last seen, kept in a small file: shown at once while the store opens.

It is a picture of the panels, never a record: it says as of when it was, and the true board takes
its place. One of another day or another size of the terminal is not shown.
"""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from textual.content import Content, Span
from textual.widgets import Static

from fieldnotes.tui.widgets.roundmap import RoundMap
from fieldnotes.tui.widgets.rows import Row, RowList

if TYPE_CHECKING:
    from textual.screen import Screen

    from fieldnotes.tui.widgets.roundmap import Place

VERSION = 1
WORDS = ("#next", "#flags", "#load .panel-text")
LISTS = ("#round", "#overdue", "#stop")


class Spot(NamedTuple):
    """Where a stop stands, WGS 84 decimal degrees."""

    lat: float
    lon: float


@dataclass(frozen=True)
class Glance:
    """What each panel showed, and as of when."""

    made: dt.datetime
    words: dict[str, Content]
    lists: dict[str, tuple[Row, ...]]
    places: tuple[Place, ...]


def _packed(text: Content) -> list[Any]:
    return [text.plain, [[s.start, s.end, s.style] for s in text.spans if isinstance(s.style, str)]]


def _text(packed: list[Any]) -> Content:
    plain, spans = packed
    return Content(str(plain), [Span(int(a), int(b), str(style)) for a, b, style in spans])


def taken(screen: Screen[Any], now: dt.datetime) -> bytes:
    """Give the picture of the first screen as it stands."""
    words = {name: screen.query_one(name, Static).content for name in WORDS}
    lists = {name: screen.query_one(name, RowList).rows for name in LISTS}
    document = {
        "version": VERSION,
        "made": now.isoformat(timespec="minutes"),
        "size": list(screen.app.size),
        "words": {n: _packed(c) for n, c in words.items() if isinstance(c, Content)},
        "lists": {n: [[*_packed(r.text), r.key] for r in rows] for n, rows in lists.items()},
        "places": [[n, p.lat, p.lon] for n, p in screen.query_one(RoundMap).places],
    }
    return json.dumps(document, ensure_ascii=False).encode()


def read(data: bytes, size: tuple[int, int], now: dt.datetime) -> Glance | None:
    """Give a kept picture; None if there is none for this day and size that can be read."""
    try:
        document = json.loads(data)
        made = dt.datetime.fromisoformat(document["made"])
        today = now.astimezone(made.tzinfo).date()
        wanted = (VERSION, [*size], today)
        if (document["version"], document["size"], made.date()) != wanted:
            return None
        words = {name: _text(document["words"][name]) for name in WORDS}
        lists = {
            name: tuple(Row(_text(row[:2]), str(row[2])) for row in document["lists"][name])
            for name in LISTS
        }
        places = tuple((str(n), Spot(float(lat), float(lon))) for n, lat, lon in document["places"])
    except (ValueError, TypeError, KeyError, IndexError):  # a cache: what is broken is not there
        return None
    return Glance(made, words, lists, places)
