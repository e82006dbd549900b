"""One case: who, the wounds on the map, their course, what is planned, everything that was done."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias
from zoneinfo import ZoneInfo

from textual import on
from textual.message import Message
from textual.widgets import Static

from fieldnotes.casework.charts import advance_chart, course_chart, measured_wounds
from fieldnotes.casework.closing_time import seen_words
from fieldnotes.casework.drawings import earlier_cases
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens import case_words
from fieldnotes.tui.screens.records import RecordScreen
from fieldnotes.tui.screens.timeline import timeline
from fieldnotes.tui.widgets.chart import CourseChart
from fieldnotes.tui.widgets.rows import TextPanel
from fieldnotes.tui.widgets.woundmap import WoundMap

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from textual.app import ComposeResult
    from textual.widget import Widget

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import CaseFile
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.followups import FollowUp
    from fieldnotes.rendering.chart import Chart


# Area and advance, by wound; all wounds under the empty letter.
Charts: TypeAlias = "Mapping[str, tuple[Chart | None, Chart | None]]"


class CaseRead(Message):
    """A case was read and judged."""

    def __init__(
        self,
        file: CaseFile,
        charts: Charts,
        people: Mapping[str, str],
        today: dt.date,
        *,
        earlier: tuple[Case, ...],
        gone: tuple[FollowUp, ...],
        seen: str,
    ) -> None:
        super().__init__()
        self.file = file
        self.gone = gone
        self.seen = seen
        self.earlier = earlier
        self.charts = charts
        self.people = people
        self.today = today


def read_case(desk: Casework, ref: str) -> CaseRead:
    """Read one case with the chart of its course."""
    file = desk.file(ref)
    people = {key: person.name for key, person in desk.register().people.items()}
    tables = desk.knowledge.healing
    labels, skin = measured_wounds(file), desk.knowledge.settled("epithelium").words
    charts = {
        label: (course_chart(file, tables, label), advance_chart(file, tables, label, skin))
        for label in ("", *(labels if len(labels) > 1 else ()))
    }
    earlier = earlier_cases(desk, file.horse.id, file.case.opened.injured_at)
    gone = () if file.plan else desk.aftercare.withdrawn(file.case.ref)
    seen = seen_words(file.case)
    return CaseRead(file, charts, people, desk.today(), earlier=earlier, gone=gone, seen=seen)


class CaseScreen(RecordScreen):
    """The case sheet."""

    NAME = "case"
    EXPLAINS = (
        "One case. Each panel's title names the key that makes it large; the same key or Escape "
        "puts it back. Flags: '!!' see now, '!' see today, '-' look at it at the next visit. On "
        "the map a wound's letter carries '+' for improving, '!' for flagged, '#' for "
        "stitched, '=' for healed; a faint outline shows how large it was at most, one with a "
        "small letter a wound of an earlier case, its year above the picture. "
        "Closing days are projected from what was measured and are no promise."
    )

    def __init__(self, ref: str) -> None:
        super().__init__()
        self.ref = ref
        self._read: CaseRead | None = None
        self._advance = False
        self._wound = ""
        self._why = ""

    def heading(self) -> str:
        """Name the case."""
        return f"Case {self.ref}"

    def body(self) -> ComposeResult:
        """Give the panels."""
        yield Static(lit("Reading the case ..."), id="who")
        yield WoundMap(id="map", classes="panel")
        yield TextPanel(id="wounds", classes="panel")
        yield CourseChart(id="course", classes="panel")
        yield TextPanel(id="plan", classes="panel")
        yield TextPanel(id="timeline", classes="panel")

    def on_mount(self) -> None:
        """Name the panels."""
        names = {"wounds": "Wounds  w", "course": "Course  g", "plan": "Plan  p"}
        for name, title in {**names, "timeline": "Timeline  l"}.items():
            self.query_one(f"#{name}").border_title = title
        self.front_panel().focus()

    def front_panel(self) -> Widget:
        """Give the large panel, else the plan."""
        return self.query_one(f"#{self.large or 'plan'}")

    def on_screen_resume(self) -> None:
        """Ask again: something may have been saved."""
        desk, ref = self.desk, self.ref
        self.ask(lambda: read_case(desk, ref), "case")

    @on(CaseRead)
    def _show(self, event: CaseRead) -> None:
        self._read = event
        file = event.file
        self.query_one("#heading", Static).update(lit(f"Case {file.case.ref}   {file.horse.name}"))
        self.query_one(WoundMap).show(file, event.earlier)
        why = "; ".join(w.course_problem for w in file.wounds if w.course_problem)
        self._why = why
        self._draw()
        zone = ZoneInfo(file.practice.zone)
        self.query_one("#timeline", TextPanel).show(
            lambda w: timeline(file.case, event.people, zone, w, event.seen)
        )
        self.redraw()

    def redraw(self) -> None:
        """Make the texts that are longer when large."""
        self._draw()
        if self._read is None:
            return
        file, today, gone = self._read.file, self._read.today, self._read.gone
        who = case_words.header(file, today, max(self.size.width - 2, 40))
        self.query_one("#who", Static).update(who)
        self.query_one("#wounds", TextPanel).show(
            lambda w: case_words.wounds_text(file, w, full=self.large == "wounds")
        )
        self.query_one("#plan", TextPanel).show(
            lambda w: case_words.plan_text(file, today, w, full=self.large == "plan", gone=gone)
        )

    def on_resize(self) -> None:
        """Fit the words to the new width."""
        self.redraw()

    def chosen_case(self) -> str:
        """Give this case."""
        return self.ref

    def _draw(self) -> None:
        """Draw areas or edge advance."""
        if self._read is not None:
            charts = self._read.charts
            self._wound = self._wound if self._wound in charts else ""
            course = self.query_one(CourseChart)
            chart = charts[self._wound][self._advance]
            course.show(chart, self._why, caption=self.large == "course")
            which = f"wound {self._wound}" if self._wound else "all wounds"
            course.border_title = "Course  g" + (f"   {which}  W" if len(charts) > 1 else "")

    def action_advance(self) -> None:
        """Draw the advance of the edge in place of the area, or the area again."""
        self._advance = not self._advance
        self._draw()

    def action_wound(self) -> None:
        """Draw the course of the next wound with its expected band, after the last one all."""
        if self._read is not None:
            order = list(self._read.charts)
            at = order.index(self._wound) + 1
            self._wound = order[at % len(order)]
            self._draw()

    def action_view(self) -> None:
        """Turn the body map to the next view that shows a wound."""
        self.query_one(WoundMap).turn()

    def action_back(self) -> None:
        """Put a large panel back, else leave the case."""
        if self.large:
            self.action_large(self.large)
        else:
            self.dismiss()

    def action_photos(self) -> None:
        """Look at the photographs."""
        from fieldnotes.tui.screens.photos import PhotosScreen  # noqa: PLC0415  (seldom needed)

        self.app.push_screen(PhotosScreen(self.ref))

    def action_papers(self) -> None:
        """Choose among the papers of the case."""
        from fieldnotes.tui.screens.papers import PapersScreen  # noqa: PLC0415  (seldom needed)

        self.app.push_screen(PapersScreen(self.ref))

    def action_handout(self) -> None:
        """Read the owner's handout."""
        from fieldnotes.tui.screens.handout import HandoutScreen  # noqa: PLC0415  (seldom needed or slow to import)

        self.app.push_screen(HandoutScreen(self.ref))
