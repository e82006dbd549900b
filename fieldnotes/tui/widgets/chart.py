"""The course of healing on the screen: the chart of the record, in the theme's colours."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content
from textual.widget import Widget

from fieldnotes.rendering.chart import draw_chart
from fieldnotes.tui.widgets.rows import wrapped

if TYPE_CHECKING:
    from textual.app import RenderResult

    from fieldnotes.rendering.chart import Chart

SLOTS = {
    "": "",
    "label": "$quiet",
    "band": "$quiet",
    "projected": "$due",
    "marker": "bold $primary",
    "line1": "bold $primary",
    "line2": "bold $overdue",
    "line3": "bold $done",
    "line4": "bold $due",
}


class CourseChart(Widget, can_focus=True):
    """Areas by day, the expected band and the projected closing days."""

    def __init__(self, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002  (the name Textual uses)
        super().__init__(id=id, classes=classes)
        self._chart: Chart | None = None
        self._why = ""
        self._caption = False

    def show(self, chart: Chart | None, why: str = "", *, caption: bool = False) -> None:
        """Draw a chart, or say why there is none; `caption` adds where its band comes from."""
        self._chart, self._why, self._caption = chart, why, caption
        self.refresh()

    def render(self) -> RenderResult:
        """Give the picture."""
        if self._chart is None:
            return Content.styled(self._why, "$quiet")
        width, height = self.content_size
        words = self._chart.caption if self._caption else ""
        foot = wrapped(words, width, "$quiet") if words else None
        room = height - (str(foot).count("\n") + 1 if foot is not None else 0)
        drawn = [
            Content("").join(Content.styled(cell.char, SLOTS[cell.slot]) for cell in row)
            for row in draw_chart(self._chart, width, room)
        ]
        return Content("\n").join([*drawn, *([foot] if foot is not None else [])])
