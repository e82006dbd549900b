"""The course of healing on the screen: the chart of the record, in the theme's colours."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content
from textual.widget import Widget

from fieldnotes.rendering.chart import draw_chart

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

    def show(self, chart: Chart | None, why: str = "") -> None:
        """Draw a chart, or say why there is none."""
        self._chart, self._why = chart, why
        self.refresh()

    def render(self) -> RenderResult:
        """Give the picture."""
        if self._chart is None:
            return Content.styled(self._why, "$quiet")
        rows = draw_chart(self._chart, *self.content_size)
        return Content("\n").join(
            Content("").join(Content.styled(cell.char, SLOTS[cell.slot]) for cell in row)
            for row in rows
        )
