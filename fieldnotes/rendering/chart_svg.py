"""The same chart as SVG, for the record and for paper: shape and dash tell what colour does."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from fieldnotes.rendering.chart import legend_lines, tick_step

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldnotes.rendering.chart import Chart

_LEFT, _TOP, _RIGHT, _BOTTOM = 48, 56, 12, 36
_CHAR = 6.2  # of the legend, on the wide side for a sans serif of 11
_INKS = ("#1b4965", "#9a3324", "#3a6b35", "#5b3a8c")
_DASHES = ("", "6 3", "2 3", "8 3 2 3")


class _Frame:
    """Where days and values stand on the page."""

    def __init__(self, chart: Chart, width: int, height: int) -> None:
        self.chart, self.width, self.height = chart, width, height

    def x(self, day: float) -> str:
        """Give the place of a day."""
        wide = self.width - _LEFT - _RIGHT
        return f"{_LEFT + day / self.chart.last_day * wide:.1f}"

    def y(self, value: float) -> str:
        """Give the place of a value; above the top it stays at the top."""
        high = self.height - _TOP - _BOTTOM
        share = (value - self.chart.least) / self.chart.span
        return f"{_TOP + (1 - min(share, 1)) * high:.1f}"


def chart_svg(chart: Chart, width: int = 640, height: int = 280) -> str:
    """Give the chart as one SVG document."""
    frame = _Frame(chart, width, height)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="img" '
        f'font-family="sans-serif" font-size="11"><title>{escape(chart.unit)} by day</title>'
        f"<desc>{escape(chart.caption)}</desc>"
    )
    parts = (*_shades(frame), *_axes(frame), *_lines(frame), *_markers(frame))
    return "\n".join([head, *parts, "</svg>\n"])


def _shades(frame: _Frame) -> Iterator[str]:
    chart = frame.chart
    band = [point for point in chart.band if point.day <= chart.last_day]
    if band:
        upper = [f"{frame.x(p.day)},{frame.y(p.most_cm2)}" for p in band]
        lower = [f"{frame.x(p.day)},{frame.y(p.least_cm2)}" for p in reversed(band)]
        yield f'<polygon points="{" ".join(upper + lower)}" fill="#dfe7ea"/>'
    foot = float(frame.y(chart.least))
    for up, window in enumerate(chart.windows):
        alone = len(chart.lines) == 1
        top, bottom = (_TOP, foot) if alone else (foot - 8 * up - 8, foot - 8 * up - 1)
        last_day = min(window.closure.latest_day, chart.last_day)
        first, last = frame.x(window.closure.earliest_day), frame.x(last_day)
        fill = "#f0d9a8" if alone else _INKS[window.line % len(_INKS)]
        shape = f"M{first} {top:.1f}V{bottom:.1f}H{last}V{top:.1f}Z"
        yield f'<path d="{shape}" fill="{fill}" opacity="0.6"/>'
        likely = frame.x(window.closure.likely_day)
        yield f'<path d="M{likely} {top:.1f}V{bottom:.1f}" stroke="#333" stroke-width="2"/>'


def _axes(frame: _Frame) -> Iterator[str]:
    chart = frame.chart
    shape = f"M{_LEFT} {_TOP}V{frame.y(frame.chart.least)}H{frame.width - _RIGHT}"
    yield f'<path d="{shape}" fill="none" stroke="#333"/>'
    for value in chart.ticks(tick_step(chart.span, 5)):
        yield f'<text x="{_LEFT - 6}" y="{frame.y(value)}" text-anchor="end">{value:g}</text>'
    for day in range(0, int(chart.last_day) + 1, 7 * max(1, round(chart.last_day / 70))):
        place = f'x="{frame.x(day)}" y="{frame.height - 18}"'
        yield f'<text {place} text-anchor="middle">{day}</text>'


def _lines(frame: _Frame) -> Iterator[str]:
    for i, line in enumerate(frame.chart.lines):
        ink, dash = _INKS[i % len(_INKS)], _DASHES[i % len(_DASHES)]
        places = [(frame.x(day), frame.y(value)) for day, value in line.points]
        path = " ".join(f"{x},{y}" for x, y in places)
        stroke = f'stroke="{ink}" stroke-width="2" stroke-dasharray="{dash}"'
        yield f'<polyline points="{path}" fill="none" {stroke}/>'
        yield from (f'<circle cx="{x}" cy="{y}" r="3" fill="{ink}"/>' for x, y in places)
        step = min(120, (frame.width - _LEFT - _RIGHT) // len(frame.chart.lines))
        yield f'<text x="{_LEFT + step * i}" y="14" fill="{ink}">{escape(line.label)}</text>'


def _markers(frame: _Frame) -> Iterator[str]:
    seen: dict[float, int] = {}
    for marker in frame.chart.markers:
        beside = seen[marker.day] = seen.get(marker.day, -1) + 1
        place = f'x="{float(frame.x(marker.day)) + 9 * beside:.1f}" y="{frame.height - 4}"'
        title = f"<title>{escape(marker.what)}</title>"
        yield f'<text {place} text-anchor="middle">{escape(marker.sign)}{title}</text>'
    most = int((frame.width - _LEFT - _RIGHT) / _CHAR)
    for i, line in enumerate(legend_lines(frame.chart, most)):
        yield f'<text x="{_LEFT}" y="{29 + 14 * i}" fill="#333">{escape(line)}</text>'
