"""One session's worth of timed keys over a store, each in its class, with what a class may take."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

from key_clock import Fingers, Times, shown
from textual.widgets import Input

from fieldnotes.cli.app import Founder
from fieldnotes.cli.seat import Seat
from fieldnotes.storage.place import kept_glance
from fieldnotes.tui.app import FieldnotesApp, Opening
from fieldnotes.tui.fields.row import FieldRow

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Awaitable, Callable
    from pathlib import Path

    from textual.app import App

    Part = Callable[[Fingers, App], Awaitable[None]]

TARGET_MS = {
    "moving": 50,
    "typing": 50,
    "paging": 150,
    "opening a form": 400,
    "the first form of all": 400,
    "another page of a form": 150,
}
WARM_S = 5.0  # by then the app has imported what was not opened yet
CASE_FORMS = ("v", "E", "D", "e", "R", "t", "A", "H", "C", "X", "o", "f", "f7")
LIST_FORMS = ("n", "ctrl+r", "N", "O", "P", "V")
OTHER_FORMS = (("7", "d"), ("7", "s"), ("6", "n"), ("0", "n"), ("8", "i"), ("8", "B"), ("1", "S"))


def standing(app: App) -> object:
    """Give where the cursor of the focused widget stands, and what is in sight of it."""
    focused = app.focused
    place = [getattr(focused, name, None) for name in ("highlighted", "cursor_coordinate", "value")]
    return (id(focused), *map(str, place), focused.scroll_offset if focused else None)


def on_map(app: App) -> object:
    """Give the region the map's cursor stands on, and from where it is seen."""
    return str(app.screen.query_one("#map-name").visual)


async def moving(fingers: Fingers, app: App, what: str, keys: tuple[str, ...]) -> None:
    """Time arrows or pages that move the cursor of the focused list."""
    await fingers.changing(what, keys, lambda: standing(app))


async def opening(fingers: Fingers, app: App, key: str, name: str = "opening a form") -> None:
    """Time the key that opens a form, ready to be typed in."""
    under = app.screen
    await fingers.timed(name, key, lambda: app.screen is not under and app.focused is not None)


async def opened_and_left(fingers: Fingers, app: App, key: str) -> None:
    """Time the opening of a form, then leave it as it is."""
    under = app.screen
    await opening(fingers, app, key)
    while app.screen is not under:
        await fingers.press("escape")


async def lists(fingers: Fingers, app: App) -> None:
    """Move and page in the lists, and search."""
    await moving(fingers, app, "moving", ("down", "up") * 8)
    await fingers.press("2", "a")
    await moving(fingers, app, "moving", ("down", "up") * 8)
    await moving(fingers, app, "paging", ("pagedown", "pagedown", "pageup", "pagedown") * 2)
    await fingers.press("slash")
    await moving(fingers, app, "typing", tuple("alber") + ("backspace",) * 4)
    await fingers.press("backspace", "enter")
    for place in ("7", "0"):
        await fingers.press(place)
        await moving(fingers, app, "moving", ("down", "up") * 4)
        await moving(fingers, app, "paging", ("pagedown", "pageup") * 2)


async def forms(fingers: Fingers, app: App) -> None:
    """Open forms from the list, from a case and from other screens."""
    await fingers.press("2")
    for key in LIST_FORMS:
        await opened_and_left(fingers, app, key)
    for place, key in OTHER_FORMS:
        await fingers.press(place)
        await opened_and_left(fingers, app, key)
    await fingers.press("2", "enter")
    await moving(fingers, app, "moving", ("tab",) * 4)
    for key in CASE_FORMS:
        await opened_and_left(fingers, app, key)


async def in_a_form(fingers: Fingers, app: App) -> None:
    """Type and move in a recheck, turn its pages twice, say a line, walk the map."""
    await fingers.press("v")
    while not isinstance(app.focused, Input):
        await fingers.press("down")
    await moving(fingers, app, "typing", tuple("35.5") + ("backspace",) * 4)
    await moving(fingers, app, "moving", ("up", "down") * 4)
    pages = [pane.id for pane in app.screen._panes()]  # type: ignore[attr-defined]
    for key, row in (("pagedown", pages[1:]), ("pageup", pages[-2::-1])) * 2:
        for page in row:
            await fingers.timed("another page of a form", key, lambda page=page: _at(app, page))
    await opening(fingers, app, "f8")
    await moving(fingers, app, "typing", tuple("8x3 granulating"))
    await fingers.press("escape", "escape", "escape", "n")
    await moving(fingers, app, "typing", tuple("alber") + ("backspace",) * 4)
    await fingers.press("pagedown", "f3")
    await fingers.changing("moving", ("up", "down") * 6, lambda: on_map(app))
    await fingers.press("escape", "escape")


def _at(app: App, page: str) -> bool:
    return app.screen._pane == page and bool(app.screen.query(FieldRow)) and app.focused is not None  # type: ignore[attr-defined]


async def session(
    store: Path, now: dt.datetime, parts: tuple[Part, ...] = (lists, forms, in_a_form)
) -> dict[str, Times]:
    """Walk through the app on a store; gives the times by class."""
    seat = Seat(lambda: now)
    founder = Founder(store, lambda: now, seat)
    app = FieldnotesApp(None, None, founder, seat, Opening(founder.open, kept_glance(store), now))
    try:
        async with shown(app) as fingers:
            await opening(fingers, app, "n", "the first form of all")
            await fingers.press("escape")
            await asyncio.sleep(WARM_S)
            for part in parts:
                await part(fingers, app)
            return fingers.times
    finally:
        seat.leave()
