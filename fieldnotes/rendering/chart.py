"""A chart of days against sizes: what it holds, and its drawing in terminal cells."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldnotes.clinical.expected import BandPoint
    from fieldnotes.clinical.projection import Closure

LABEL_WIDTH = 6
_BRAILLE = 0x2800
_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
_SIGNS = "●◆■▲"


@dataclass(frozen=True)
class Line:
    """One wound's values by day."""

    label: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Marker:
    """Something done on a day: one sign on the day axis."""

    day: float
    sign: str
    what: str


@dataclass(frozen=True)
class Window:
    """The projected closing days of one line, by its place among the lines."""

    line: int
    closure: Closure

    def shown_until(self, seen: float) -> float:
        """Give the last day the axis needs: past the likely day, not to the end of a long tail.

        `seen` is the last day anything was measured or done.
        """
        beyond = max(0.5 * (self.closure.likely_day - seen), 14.0)
        return min(self.closure.latest_day, self.closure.likely_day + beyond)


@dataclass(frozen=True)
class Chart:
    """What a chart shows; `band` is the expected range, `windows` the projected closing days."""

    lines: tuple[Line, ...]
    unit: str = "cm2"
    band: tuple[BandPoint, ...] = ()
    windows: tuple[Window, ...] = ()
    markers: tuple[Marker, ...] = ()
    caption: str = ""

    @property
    def last_day(self) -> float:
        """The last day shown."""
        days = [day for line in self.lines for day, _ in line.points]
        seen = max([*days, *(marker.day for marker in self.markers)], default=0.0)
        return max([seen, *(window.shown_until(seen) for window in self.windows), 7])

    def cut(self, window: Window) -> bool:
        """Whether a window goes on past the axis."""
        return window.closure.open_ended or window.closure.latest_day > self.last_day

    @property
    def most(self) -> float:
        """The largest value shown: of the lines, and of the band as far as that helps."""
        highest = max((value for line in self.lines for _, value in line.points), default=0)
        top = highest if highest > 0 else 1.0
        band = max((point.most_cm2 for point in self.band), default=0.0)
        return max(top, min(band, 2 * top))

    @property
    def least(self) -> float:
        """The smallest value shown: 0, or below it where an edge has gone back."""
        return min([0.0, *(value for line in self.lines for _, value in line.points)])

    @property
    def span(self) -> float:
        """From the least value shown to the most."""
        return self.most - self.least

    def ticks(self, step: float) -> tuple[float, ...]:
        """Give the round values on the axis."""
        return tuple(
            i * step for i in range(math.ceil(self.least / step), int(self.most / step) + 1)
        )


@dataclass(frozen=True)
class Cell:
    """One terminal cell: a character and the name of its colour slot."""

    char: str = " "
    slot: str = ""


class _Canvas:
    """Cells of the plot, days across and values up."""

    def __init__(self, chart: Chart, width: int, height: int) -> None:
        self.width, self.height = width, height
        self.chart = chart
        self.cells = [[Cell() for _ in range(width)] for _ in range(height)]

    def column(self, day: float, parts: int = 1) -> int:
        """Give the column of a day, or the part of it that lies nearest its middle."""
        return _placed(day / self.chart.last_day, self.width, parts)

    def row(self, value: float, parts: int = 1) -> int:
        """Give the row of a value (or its part), 0 at the top."""
        return _placed((self.chart.most - value) / self.chart.span, self.height, parts)

    def shade(self) -> None:
        """Shade the expected band, and the projected windows over it, one row each."""
        for a, b in pairwise(self.chart.band):
            first, last = self.column(a.day), self.column(b.day)
            for x in range(first, last + 1 if a.day < self.chart.last_day else first):
                share = (x - first) / max(last - first, 1)
                top = a.most_cm2 + (b.most_cm2 - a.most_cm2) * share
                foot = a.least_cm2 + (b.least_cm2 - a.least_cm2) * share
                for y in range(self.row(top), self.row(foot) + 1):
                    self.cells[y][x] = Cell("░", "band")
        for up, window in enumerate(self.chart.windows, 1):
            self._window(window, self.cells[-min(up, self.height)])

    def _window(self, window: Window, row: list[Cell]) -> None:
        alone = len(self.chart.lines) == 1
        slot = "projected" if alone else f"line{window.line % len(_SIGNS) + 1}"
        first, last = (
            self.column(window.closure.earliest_day),
            self.column(window.closure.latest_day),
        )
        for x in range(first, last + 1):
            row[x] = Cell("▓", slot)
        row[self.column(window.closure.likely_day)] = Cell("█", slot)
        if self.chart.cut(window):
            row[last] = Cell("▶", slot)
        if not alone and first > 0:
            row[first - 1] = Cell(_SIGNS[window.line % len(_SIGNS)], slot)

    def draw(self, line: Line, slot: str, sign: str) -> None:
        """Draw a line in braille dots, with a sign at each measurement."""
        dots: dict[tuple[int, int], int] = {}
        for (d1, v1), (d2, v2) in pairwise(line.points):
            x1, x2 = self.column(d1, 2), self.column(d2, 2)
            y1, y2 = self.row(v1, 4), self.row(v2, 4)
            steps = max(abs(x2 - x1), abs(y2 - y1), 1)
            for i in range(steps + 1):
                x, y = round(x1 + (x2 - x1) * i / steps), round(y1 + (y2 - y1) * i / steps)
                dots[y // 4, x // 2] = dots.get((y // 4, x // 2), 0) | _DOTS[y % 4][x % 2]
        for (y, x), bits in dots.items():
            self.cells[y][x] = Cell(chr(_BRAILLE + bits), slot)
        for day, value in line.points:
            self.cells[self.row(value)][self.column(day)] = Cell(sign, slot)


def _placed(share: float, cells: int, parts: int) -> int:
    """Give the cell of a share of the way, or its part: a line's dots meet the signs of it."""
    exact = min(max(share, 0.0), 1.0) * (cells - 1)
    return round(exact * parts + (parts - 1) / 2)


def tick_step(span: float, most: int) -> float:
    """Give the distance of round ticks (1, 2 or 5 times a power of ten), at most `most` of them."""
    raw = span / max(most, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    return next(power * m for m in (1, 2, 5, 10) if power * m >= raw)


def draw_chart(chart: Chart, width: int, height: int) -> tuple[tuple[Cell, ...], ...]:
    """Draw a chart in rows of cells, `width` x `height` (at least 20 x 6)."""
    width, height = max(width, 20), max(height, 6)
    canvas = _Canvas(chart, width - LABEL_WIDTH - 1, height - 3)
    canvas.shade()
    for i, line in enumerate(chart.lines):
        canvas.draw(line, f"line{i % len(_SIGNS) + 1}", _SIGNS[i % len(_SIGNS)])
    left = _value_axis(canvas)
    rows = [_text(_legend(chart, width), width)]
    rows += [(*label, *cells) for label, cells in zip(left, canvas.cells, strict=True)]
    rows += [_day_axis(canvas), _day_labels(canvas, width)]
    return tuple(tuple(row) for row in rows)


def _text(text: str, width: int, slot: str = "label") -> tuple[Cell, ...]:
    return tuple(Cell(char, slot) for char in text[:width].ljust(width))


def _legend(chart: Chart, width: int) -> str:
    """Give the legend in one row; where it is narrow with fewer and shorter words, never cut."""
    lines = [f"{_SIGNS[i % len(_SIGNS)]} {line.label}" for i, line in enumerate(chart.lines)]
    names = ["░ expected"] if chart.band else []
    names += ["▓ closes, █ likely"] if chart.windows else []
    names += ["▶ goes on"] if any(chart.cut(w) for w in chart.windows) else []
    row, words = f"{chart.unit:>{LABEL_WIDTH}}", (*lines, *names)
    if len("  ".join((row, *words, *_signs(chart)))) <= width:
        return "  ".join((row, *words, *_signs(chart)))
    if len(" ".join((row, *words))) > width:
        words = tuple(word.replace(" wound ", " ") for word in words)
    for word in (*words, *_signs(chart)):
        row += f" {word}" if len(row) + 1 + len(word) <= width else ""
    return row


def _signs(chart: Chart) -> tuple[str, ...]:
    return tuple(dict.fromkeys(f"{m.sign} {m.what}" for m in chart.markers))


def legend_lines(chart: Chart, most: int) -> list[str]:
    """Give the legend of a picture in lines of at most so many characters."""
    words = [f"{chart.unit} by day", *(["grey: expected"] if chart.band else [])]
    words += ["bars: projected closing days, line: likely"] if chart.windows else []
    words += ["some go on past the edge"] if any(chart.cut(w) for w in chart.windows) else []
    lines = [""]
    for word in (*words, *_signs(chart)):
        longer = f"{lines[-1]} · {word}" if lines[-1] else word
        lines[len(lines) - (len(longer) <= most) :] = [longer if len(longer) <= most else word]
    return lines


def _value_axis(canvas: _Canvas) -> list[tuple[Cell, ...]]:
    step = tick_step(canvas.chart.span, max(canvas.height // 3, 2))
    ticks = {canvas.row(value): value for value in canvas.chart.ticks(step)}
    rows = []
    for y in range(canvas.height):
        label = f"{ticks[y]:g}" if y in ticks else ""
        rows.append(_text(f"{label:>{LABEL_WIDTH}}{'┤' if y in ticks else '│'}", LABEL_WIDTH + 1))
    return rows


def _day_ticks(canvas: _Canvas) -> dict[int, float]:
    step = max(7.0, 7.0 * math.ceil(canvas.chart.last_day / 7 / max(canvas.width // 7, 1)))
    count = int(canvas.chart.last_day / step)
    return {canvas.column(i * step): i * step for i in range(count + 1)}


def _day_axis(canvas: _Canvas) -> tuple[Cell, ...]:
    ticks = _day_ticks(canvas)
    line = [Cell("┬" if x in ticks else "─", "label") for x in range(canvas.width)]
    for marker in canvas.chart.markers:
        x = canvas.column(marker.day)
        # What was done on one day stands side by side.
        while x < canvas.width - 1 and line[x].slot == "marker":
            x += 1
        line[x] = Cell(marker.sign, "marker")
    return (*_text("└".rjust(LABEL_WIDTH + 1), LABEL_WIDTH + 1), *line)


def _day_labels(canvas: _Canvas, width: int) -> tuple[Cell, ...]:
    text = ["day".rjust(LABEL_WIDTH - 1).ljust(LABEL_WIDTH + 1), *" " * canvas.width]
    row = list("".join(text))
    for x, day in _day_ticks(canvas).items():
        label = f"{day:g}"
        at = min(LABEL_WIDTH + 1 + x, width - len(label))
        row[at : at + len(label)] = label
    return _text("".join(row), width)
