"""Key press to picture in the app, p95 at 120x40: `python key_presses.py STORE [ROUNDS]`.

The clock runs from the press until the screen has painted what it asks for; beside it runs that of
the processor, which a busy machine does not spoil. The bare app's cursor is measured in the same
run. Targets: moving and typing 50 ms, paging 150 ms, opening a form 400 ms.
"""

from __future__ import annotations

import asyncio
import datetime as dt
import os
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from textual import events

sys.path.insert(0, str(Path(__file__).parent))
from baseline import Baseline

from fieldnotes.cli.app import Founder
from fieldnotes.cli.seat import Seat
from fieldnotes.storage.place import kept_glance
from fieldnotes.tui.app import FieldnotesApp, Opening

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import App

SIZE = (120, 40)
SETTLED_S = 0.4


def watched(app: App[None]) -> asyncio.Event:
    """Give what is set at each picture; the terminal's bytes are made as on a real one."""
    painted, display = asyncio.Event(), app._display

    def shown(screen, renderable) -> None:
        display(screen, renderable)
        if hasattr(renderable, "render_segments"):
            renderable.render_segments(app.console)
        painted.set()

    app._display = shown  # type: ignore[method-assign]
    return painted


async def pressed(
    app: App[None], painted: asyncio.Event, key: str, until: Callable[[], bool]
) -> tuple[float, float]:
    """Press a key; give the milliseconds until it was painted, by the wall and the processor."""
    await asyncio.sleep(SETTLED_S)
    painted.clear()
    begun, used = time.perf_counter(), time.process_time()
    app.post_message(events.Key(key, None))
    while True:
        await asyncio.wait_for(painted.wait(), 20)
        if until():
            return (time.perf_counter() - begun) * 1000, (time.process_time() - used) * 1000
        painted.clear()


def told(name: str, times: list[tuple[float, float]], target: str) -> None:
    """Print the 95th percentile of each clock."""
    at = min(len(times) - 1, int(len(times) * 0.95))
    wall, used = (sorted(t[i] for t in times)[at] for i in (0, 1))
    sys.stdout.write(f"{name:<28} wall {wall:6.0f} ms, processor {used:6.0f} ms   {target}\n")


async def bare(rounds: int) -> None:
    """Move the cursor of the bare app."""
    app = Baseline()
    async with app.run_test(size=SIZE) as pilot:
        await pilot.pause()
        painted = watched(app)
        keys = ("down", "up") * rounds * 3
        told("bare app, moving", [await pressed(app, painted, k, lambda: True) for k in keys], "")


async def ours(store: Path, rounds: int) -> None:
    """Move, page, type and open forms."""

    def clock() -> dt.datetime:
        return dt.datetime.now(dt.UTC)

    seat = Seat(clock)
    founder = Founder(store, clock, seat)
    opening = Opening(founder.open, kept_glance(store), clock())
    app = FieldnotesApp(None, None, founder, seat, opening)
    async with app.run_test(size=SIZE) as pilot:
        await pilot.pause(8)
        painted = watched(app)

        async def many(keys: tuple[str, ...]) -> list[tuple[float, float]]:
            return [await pressed(app, painted, key, lambda: True) for key in keys]

        told("today, moving", await many(("down", "up") * rounds * 3), "target 50")
        await pilot.press("2")
        await pilot.pause(2)
        await pilot.press("a")
        told("cases, moving", await many(("down", "up") * rounds * 3), "target 50")
        told("cases, paging", await many(("pagedown", "pageup") * rounds), "target 150")
        await pilot.press("slash")
        told("cases, typing a search", await many(tuple("albebrh") * rounds), "target 50")
        await pilot.press("enter")
        form = []
        for _ in range(rounds):
            found = await pressed(
                app, painted, "n", lambda: app.screen.NAME == "form" and app.focused is not None
            )
            form.append(found)
            told_typing = await many(tuple("lin"))
            await pilot.press("escape")
            await pilot.pause(1)
        told("a form, opening", form, "target 400")
        told("a form, typing", told_typing, "target 50")
    seat.leave()


if __name__ == "__main__":
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 5
    asyncio.run(bare(count))
    asyncio.run(ours(Path(sys.argv[1]), count))
    sys.stdout.flush()
    os._exit(0)  # a sealing thread need not be waited for
