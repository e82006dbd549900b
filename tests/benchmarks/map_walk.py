"""Key press to picture on the body map beside an empty screen's repaint: `python map_walk.py [N]`.

Both run in one process at 120x40; the clock runs from the press until the screen has painted.
Prints both medians and their ratio (target: under 50 ms for the map).
"""

from __future__ import annotations

import asyncio
import statistics
import sys
import time

from textual import events
from textual.app import App
from textual.screen import Screen
from textual.widgets import Static

from fieldnotes.tui.fields.place import Spot
from fieldnotes.tui.fields.sizes import TypedSize
from fieldnotes.tui.screens.map import MapScreen

SIZE = (120, 40)
WALKS = {
    "side view": ("left.hind.metatarsus.lateral", ()),
    "close-up": ("left.hind.metatarsus.lateral", ("plus",)),
    "close-up with outlines": ("left.hind.metatarsus.lateral", ("plus", "s")),
}
ARROWS = ("up", "up", "right", "down", "left", "down", "down", "right", "up", "left", "k", "l")
TARGET_MS = 50


class Bare(Screen[None]):
    """An empty screen that repaints all of itself at a key press."""

    BINDINGS = [("up,down,left,right,k,l", "again", "Again")]  # noqa: RUF012  (Textual's own form)

    def compose(self):
        """Give one empty widget."""
        yield Static()

    def action_again(self) -> None:
        """Repaint."""
        self.refresh()


class Host(App[None]):
    """Shows one screen with the app's own style sheet and tells when it has painted."""

    CSS_PATH = "../../fieldnotes/tui/fieldnotes.tcss"

    def __init__(self) -> None:
        super().__init__()
        self.painted = asyncio.Event()

    def get_css_variables(self) -> dict[str, str]:
        """Give the slots of our themes a colour."""
        slots = dict.fromkeys(("quiet", "field", "overdue", "due", "done", "accent-ink"), "#888888")
        return {**super().get_css_variables(), **slots}

    def _display(self, screen: Screen[object], renderable: object) -> None:
        """Make the terminal's bytes, as on a real one, and tell."""
        super()._display(screen, renderable)
        if hasattr(renderable, "render_segments"):
            renderable.render_segments(self.console)
        self.painted.set()


async def presses_ms(screen: Screen, first: tuple[str, ...], rounds: int) -> list[float]:
    """Give the milliseconds from each press until its picture was painted."""
    app, times = Host(), []
    async with app.run_test(size=SIZE) as pilot:
        await app.push_screen(screen)
        await pilot.press(*first)
        for arrow in ARROWS * rounds:
            await pilot.pause(0.15)
            app.painted.clear()
            start = time.perf_counter()
            app.post_message(events.Key(arrow, None))
            await asyncio.wait_for(app.painted.wait(), 5)
            times.append((time.perf_counter() - start) * 1000)
    return times


def main(rounds: int) -> None:
    """Measure the bare screen and each walk, and print their ratios."""
    bare = statistics.median(asyncio.run(presses_ms(Bare(), (), rounds)))
    sys.stdout.write(f"{'empty screen':<24}{bare:6.1f} ms\n")
    for name, (region, first) in WALKS.items():
        screen = MapScreen(Spot(region), TypedSize(60, 30))
        times = sorted(asyncio.run(presses_ms(screen, first, rounds)))
        ours, slow = statistics.median(times), times[int(len(times) * 0.9)]
        sys.stdout.write(
            f"{name:<24}{ours:6.1f} ms (9 of 10 under {slow:.1f}), {ours - bare:5.1f} ms more,"
            f" ratio {ours / bare:.2f} (target under {TARGET_MS} ms)\n"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
