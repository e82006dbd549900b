"""A photograph in half blocks, with a crosshair to walk about on it and marks laid over it.

Two dots stand in a cell, so it works in any terminal, in tmux and over ssh; without colour the
brightness is drawn in characters.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, ClassVar

from rich.segment import Segment
from rich.style import Style
from textual.binding import Binding
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from fieldnotes.rendering.halfblocks import LEAST_SCALE, ZOOM, line_dots

if TYPE_CHECKING:
    from collections.abc import Mapping

    from textual import events
    from textual.binding import BindingType

    from fieldnotes.rendering.halfblocks import RGB, Dot, Viewed, Window

Point = tuple[float, float]
RULER, EDGE, CORNER, CROSS = (0, 255, 255), (255, 230, 0), (255, 255, 255), (0, 255, 0)
SIGNS = {RULER: "=", EDGE: "*", CORNER: "o", CROSS: "+"}
SHADES = " .:-=*#%@"
FAR = 8


@lru_cache(maxsize=20_000)
def _style(top: RGB, bottom: RGB) -> Style:
    (a, b, c), (d, e, f) = top, bottom
    return Style(color=f"#{a:02x}{b:02x}{c:02x}", bgcolor=f"#{d:02x}{e:02x}{f:02x}")


class PictureView(Widget, can_focus=True):
    """Shows a photograph; `walks` gives it a crosshair."""

    DEFAULT_CSS = "PictureView { height: 1fr; width: 1fr; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "walk(-1, 0)", show=False),
        Binding("right", "walk(1, 0)", show=False),
        Binding("up", "walk(0, -1)", show=False),
        Binding("down", "walk(0, 1)", show=False),
        Binding("shift+left,H", f"walk(-{FAR}, 0)", show=False),
        Binding("shift+right,L", f"walk({FAR}, 0)", show=False),
        Binding("shift+up,K", f"walk(0, -{FAR})", show=False),
        Binding("shift+down,J", f"walk(0, {FAR})", show=False),
    ]

    class Pointed(Message):
        """A point of the picture was clicked."""

    class Walked(Message):
        """The crosshair moved."""

    def __init__(self, *, walks: bool = True, id: str | None = None) -> None:  # noqa: A002  (the name Textual uses)
        super().__init__(id=id)
        self.can_focus = walks
        self._walks = walks
        self._viewed: Viewed | None = None
        self._window: Window | None = None
        self._dots: tuple[tuple[RGB, ...], ...] = ()
        self._over: dict[Dot, RGB] = {}
        self._ruler: tuple[Point, ...] = ()
        self._edge: tuple[Point, ...] = ()
        self._is_round = False
        self.cross: Point = (0.0, 0.0)

    def show(self, viewed: Viewed | None) -> None:
        """Show a picture whole, the crosshair in its middle."""
        self._viewed = viewed
        if viewed is not None:
            self.cross = (viewed.size[0] / 2, viewed.size[1] / 2)
        self.fit()

    def mark(self, ruler: tuple[Point, ...], edge: tuple[Point, ...], *, closed: bool) -> None:
        """Lay the ruler and the edge so far over the picture, in its pixels."""
        self._ruler, self._edge, self._is_round = ruler, edge, closed
        self._lay()

    def fit(self) -> None:
        """Show all of the picture."""
        if self._viewed is not None and self.size.width and self.size.height:
            self._look(self._viewed.whole(self.size.width, 2 * self.size.height))
        else:
            self.refresh()

    def zoom(self, by: int) -> None:
        """Look closer (1) or from further off (-1), at the crosshair."""
        if self._window is None or self._viewed is None:
            return
        whole = self._viewed.whole(self.size.width, 2 * self.size.height)
        scale = min(max(self._window.scale * ZOOM ** (-by), LEAST_SCALE), whole.scale)
        self._look(whole if scale == whole.scale else self._window.around(*self.cross, scale))

    def _look(self, window: Window) -> None:
        self._window = window
        self._dots = self._viewed.dots(window) if self._viewed is not None else ()
        self._lay()

    def on_resize(self) -> None:
        """Keep what is looked at in the middle; what was whole stays whole."""
        if self._window is None or self._viewed is None:
            self.fit()
            return
        old, new = self._window, self._viewed.whole(self.size.width, 2 * self.size.height)
        before = self._viewed.whole(old.columns, old.rows)
        zoomed = old.scale < before.scale
        self._look(new.around(*self.cross, old.scale) if zoomed else new)

    def action_walk(self, right: int, down: int) -> None:
        """Move the crosshair by dots; the window follows it."""
        if self._window is None or self._viewed is None or not self._walks:
            return
        width, height = self._viewed.size
        x = min(max(self.cross[0] + right * self._window.scale, 0.0), width - 0.01)
        y = min(max(self.cross[1] + down * self._window.scale, 0.0), height - 0.01)
        self._stand((x, y))

    def _stand(self, point: Point) -> None:
        self.cross = point
        if self._window is not None and not self._window.shows(*point):
            self._look(self._window.around(*point, self._window.scale))
        else:
            self._lay()
        self.post_message(self.Walked())

    def on_click(self, event: events.Click) -> None:
        """Go to the point under the mouse and say so."""
        if self._window is None or self._viewed is None or not self._walks:
            return
        event.stop()
        x, y = self._window.point(event.x, 2 * event.y + 0.5)
        width, height = self._viewed.size
        if 0 <= x < width and 0 <= y < height:
            self._stand((x, y))
            self.post_message(self.Pointed())

    def on_mouse_scroll_up(self) -> None:
        """Look closer."""
        self.zoom(1)

    def on_mouse_scroll_down(self) -> None:
        """Look from further off."""
        self.zoom(-1)

    def _lay(self) -> None:
        """Reckon what lies over the picture; the crosshair is uppermost."""
        over: dict[Dot, RGB] = {}
        window = self._window
        if window is not None:
            edge = [*self._edge, *(self._edge[:1] if self._is_round else ())]
            for points, colour in ((self._ruler, RULER), (edge, EDGE)):
                dots = [window.dot(*point) for point in points]
                for one, other in pairwise(dots):
                    over |= dict.fromkeys(line_dots(one, other), colour)
                over |= dict.fromkeys(dots, CORNER)
            if self._walks:
                over |= _cross(window.dot(*self.cross))
        self._over = over
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """Give one row of cells: the upper dot is the ink, the lower the ground."""
        if 2 * y + 1 >= len(self._dots):
            return Strip.blank(self.size.width, self.rich_style)
        if self.app.no_color or self.app.current_theme.ansi:
            return Strip([Segment(self._characters(y), self.rich_style)])
        rows = (self._dots[2 * y], self._dots[2 * y + 1])
        return Strip(
            [
                Segment(
                    "▀",
                    _style(self._over.get((x, 2 * y), top), self._over.get((x, 2 * y + 1), bottom)),
                )
                for x, (top, bottom) in enumerate(zip(*rows, strict=True))
            ]
        )

    def _characters(self, y: int) -> str:
        pairs = zip(self._dots[2 * y], self._dots[2 * y + 1], strict=True)
        return "".join(
            _sign(self._over, (x, 2 * y)) or _shade(top, bottom)
            for x, (top, bottom) in enumerate(pairs)
        )


def _cross(at: Dot) -> Mapping[Dot, RGB]:
    x, y = at
    arms = [(x + d, y) for d in (-3, -2, 2, 3)] + [(x, y + d) for d in (-3, -2, 2, 3)]
    return dict.fromkeys([*arms, at], CROSS)


def _sign(over: Mapping[Dot, RGB], dot: Dot) -> str:
    colour = over.get(dot) or over.get((dot[0], dot[1] + 1))
    return SIGNS[colour] if colour else ""


def _shade(top: RGB, bottom: RGB) -> str:
    """Give a character as bright as a cell; the weights are those of Rec. 601."""
    light = sum(0.299 * r + 0.587 * g + 0.114 * b for r, g, b in (top, bottom)) / 2
    return SHADES[min(int(light / 256 * len(SHADES)), len(SHADES) - 1)]
