"""The chart as PNG, drawn with pillow: the picture of the record where SVG is not taken."""

from __future__ import annotations

import io
from itertools import pairwise
from typing import TYPE_CHECKING

from fieldnotes.rendering.chart import legend_lines, tick_step
from fieldnotes.rendering.pictures import pillow

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw

    from fieldnotes.rendering.chart import Chart

_LEFT, _TOP, _RIGHT, _BOTTOM = 64, 72, 20, 60
_CHAR = 7.5  # of the legend, on the wide side for the font of 14
_INKS = ("#1b4965", "#9a3324", "#3a6b35", "#5b3a8c")
_SHAPES = ("circle", "diamond", "square", "triangle")


class _Page:
    """Where days and values stand on the picture."""

    def __init__(self, chart: Chart, width: int, height: int) -> None:
        self.chart, self.width, self.height = chart, width, height

    def place(self, day: float, value: float) -> tuple[float, float]:
        """Give the point of a value on a day; outside the axis it stays at its end."""
        chart = self.chart
        share = (min(max(value, chart.least), chart.most) - chart.least) / chart.span
        wide, high = self.width - _LEFT - _RIGHT, self.height - _TOP - _BOTTOM
        return _LEFT + day / chart.last_day * wide, _TOP + (1 - share) * high


def chart_png(chart: Chart, width: int = 960, height: int = 440) -> bytes:
    """Give the chart as a PNG file."""
    library = pillow()
    from PIL import ImageDraw, ImageFont  # noqa: PLC0415  (an extra; slow to import)

    picture = library.new("RGB", (width, height), "white")
    pen, page = ImageDraw.Draw(picture), _Page(chart, width, height)
    pen.font = ImageFont.load_default(size=14)
    _shades(pen, page)
    _axes(pen, page)
    step = min(150, (width - _LEFT - _RIGHT) // max(len(chart.lines), 1))
    for i, line in enumerate(chart.lines):
        _line(pen, page, i, line.points)
        pen.text((_LEFT + step * i, 8), f"{_SHAPES[i % 4]}: {line.label}", fill=_INKS[i % 4])
    _words(pen, page)
    out = io.BytesIO()
    picture.save(out, "PNG")
    return out.getvalue()


def _shades(pen: ImageDraw, page: _Page) -> None:
    chart = page.chart
    alone = len(chart.lines) == 1
    for up, window in enumerate(chart.windows):
        closure = window.closure
        left, high = page.place(closure.earliest_day, chart.most)
        right, low = page.place(min(closure.latest_day, chart.last_day), chart.least)
        top, foot = (high, low) if alone else (low - 12 * up - 12, low - 12 * up - 1)
        fill = "#f0d9a8" if alone else _INKS[window.line % len(_INKS)]
        pen.rectangle((left, top, right, foot), outline="#8a6d1f", fill=fill)
        likely = page.place(closure.likely_day, chart.least)[0]
        pen.line([(likely, top), (likely, foot)], fill="#333333", width=2)
    for a, b in pairwise(p for p in chart.band if p.day <= chart.last_day):
        corners = [(a.day, a.most_cm2), (b.day, b.most_cm2), (b.day, b.least_cm2)]
        shape = [page.place(*c) for c in (*corners, (a.day, a.least_cm2))]
        pen.polygon(shape, fill="#dfe7ea")


def _axes(pen: ImageDraw, page: _Page) -> None:
    chart = page.chart
    pen.line([page.place(0, chart.most), page.place(0, chart.least)], fill="#333333")
    pen.line([page.place(0, chart.least), page.place(chart.last_day, chart.least)], fill="#333333")
    for value in chart.ticks(tick_step(chart.span, 5)):
        x, y = page.place(0, value)
        pen.text((x - 8, y), f"{value:g}", fill="#333333", anchor="rm")
    for day in range(0, int(chart.last_day) + 1, 7 * max(1, round(chart.last_day / 70))):
        x, y = page.place(day, chart.least)
        pen.text((x, y + 6), str(day), fill="#333333", anchor="mt")


def _line(
    pen: ImageDraw, page: _Page, number: int, points: tuple[tuple[float, float], ...]
) -> None:
    ink, shape = _INKS[number % 4], _SHAPES[number % 4]
    places = [page.place(day, value) for day, value in points]
    if len(places) > 1:
        pen.line(places, fill=ink, width=2)
    for x, y in places:
        if shape == "circle":
            pen.ellipse((x - 4, y - 4, x + 4, y + 4), fill=ink)
        else:
            sides = {"diamond": 4, "square": 4, "triangle": 3}[shape]
            turn = 45 if shape == "diamond" else 0
            pen.regular_polygon((x, y, 6), sides, rotation=turn, fill=ink)


def _words(pen: ImageDraw, page: _Page) -> None:
    chart = page.chart
    seen: dict[float, int] = {}
    for marker in chart.markers:
        beside = seen[marker.day] = seen.get(marker.day, -1) + 1
        x = page.place(marker.day, chart.least)[0] + 12 * beside
        pen.text((x, page.height - 24), marker.sign, fill="#333333", anchor="mm")
    most = int((page.width - _LEFT - _RIGHT) / _CHAR)
    pen.multiline_text((_LEFT, 28), "\n".join(legend_lines(chart, most)), fill="#333333")
