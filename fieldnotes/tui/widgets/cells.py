"""Cells of a drawn map as strips of a widget, and which colours the terminal can show."""

from __future__ import annotations

from functools import cache
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING

from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip

from fieldnotes.rendering.bodymap.palette import DARK, LIGHT, SIXTEEN, hex_colour
from fieldnotes.tui.themes import few_colours

if TYPE_CHECKING:
    from collections.abc import Iterable

    from textual.app import App
    from textual.widget import Widget

    from fieldnotes.rendering.bodymap.blocks import Cell
    from fieldnotes.rendering.bodymap.cells import Manner
    from fieldnotes.rendering.bodymap.palette import Colour, Palette


@cache
def _style(fg: Colour | None, bg: Colour | None) -> Style | None:
    if fg is None or bg is None:
        return None
    return Style(color=hex_colour(fg), bgcolor=hex_colour(bg))


def strip_of(cells: Iterable[Cell], widget: Widget) -> Strip:
    """Give one row of a picture; cells without colour take the widget's own.

    Cells alike become one segment, since a screen is painted segment by segment.
    """
    segments = []
    for (fg, bg), alike in groupby(cells, key=attrgetter("fg", "bg")):
        text = "".join([cell.char for cell in alike])
        segments.append(Segment(text, _style(fg, bg) or widget.rich_style))
    return Strip(segments)


def palette_for(app: App[object]) -> Palette:
    """Give the colours that suit the terminal and the theme: sixteen, or by day or night."""
    if few_colours(app.console):
        return SIXTEEN
    return DARK if app.current_theme.dark else LIGHT


def manner_for(app: App[object]) -> Manner:
    """Give lines where colour is not wanted, else filled cells."""
    return "braille" if app.no_color or app.current_theme.ansi else "blocks"
