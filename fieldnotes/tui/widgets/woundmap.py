"""The wounds of a case on the body map, to be looked at: no cursor, one view at a time."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from textual.strip import Strip
from textual.widget import Widget

from fieldnotes.knowledge.bodymap import load_view, point_in, shown_as, views_of
from fieldnotes.rendering.bodymap import Layout, Scene, WoundMark
from fieldnotes.rendering.handout.facts import stitched_now
from fieldnotes.tui.widgets.cells import manner_for, palette_for, strip_of

if TYPE_CHECKING:
    from fieldnotes.casework.views import CaseFile, WoundFile
    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.rendering.bodymap import Cells
    from fieldnotes.rendering.bodymap.wounds import State

SMALLEST_MM = 20.0
CLOSE = 3.0


def marks_of(wound: WoundFile, view: View, *, stitched: bool) -> tuple[WoundMark, ...]:
    """Give a wound's marks on a view: how large it was at most, faint, then how it is now.

    None where its region is not shown.
    """
    shown = shown_as(view, wound.wound.region)
    if shown is None:
        return ()
    point = wound.wound.point
    exact = point is not None and wound.wound.view in {view.key, view.id}
    x, y = (point.x_cm, point.y_cm) if exact and point else point_in(view, shown)
    last = wound.last
    now = WoundMark(
        label=wound.wound.label,
        x_cm=x,
        y_cm=y,
        length_mm=(last.length_mm if last else None) or SMALLEST_MM,
        width_mm=(last.width_mm if last else None) or SMALLEST_MM,
        angle_deg=wound.wound.angle_deg,
        state=_state(wound, stitched=stitched),
        outline_cm=last.outline_cm if last else (),
    )
    return (*_largest(wound, now), now)


def _largest(wound: WoundFile, now: WoundMark) -> tuple[WoundMark, ...]:
    """Give the wound as large as it ever was, if it is smaller now."""
    sizes = [(f.length_mm, f.width_mm) for _, f in wound.findings if f.length_mm and f.width_mm]
    length, width = max(sizes, key=lambda s: (s[0] or 0) * (s[1] or 0), default=(None, None))
    if not length or not width or length * width <= now.length_mm * now.width_mm:
        return ()
    larger = replace(now, label="", length_mm=length, width_mm=width, outline_cm=())
    return (replace(larger, past=True, state="open"),)


def _state(wound: WoundFile, *, stitched: bool) -> State:
    """Give the state the map has a sign for: worse if flagged, better if the edge advances."""
    if wound.course is not None and wound.course.healed:
        return "healed"
    if wound.flags:
        return "worse"
    rate = wound.course.last.rate_mm_per_day if wound.course else None
    if rate is not None and rate > 0:
        return "improving"
    return "stitched" if stitched else "open"


class WoundMap(Widget, can_focus=True):
    """One view of the horse with every wound of the case that lies on it."""

    def __init__(self, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002  (the name Textual uses)
        super().__init__(id=id, classes=classes)
        self._file: CaseFile | None = None
        self._views: tuple[str, ...] = ("left",)
        self._at = 0
        self._cells: Cells = ()
        self._drawn: object = None

    def show(self, file: CaseFile) -> None:
        """Draw a case's wounds, whole views of the horse first."""
        self._file = file
        found = dict.fromkeys(v for w in file.wounds for v in views_of(w.wound.region))
        self._views = tuple(found) or ("left",)
        self._at %= len(self._views)
        self._retitle()

    def turn(self) -> None:
        """Go to the next view that shows a wound."""
        self._at = (self._at + 1) % len(self._views)
        self._retitle()

    def _retitle(self) -> None:
        view = load_view(self._views[self._at])
        more = f"  z {self._at + 1}/{len(self._views)}" if len(self._views) > 1 else ""
        self.border_title = f"{view.title}  m{more}"
        self._drawn = None
        self.refresh()

    def _marks(self, view: View) -> tuple[WoundMark, ...]:
        file = self._file
        if file is None:
            return ()
        return tuple(
            mark
            for w in file.wounds
            for mark in marks_of(w, view, stitched=stitched_now(file.case, w.wound.label))
        )

    def _draw(self) -> None:
        view = load_view(self._views[self._at])
        marks = self._marks(view)
        key = (view.key, self.content_size, marks, self.app.current_theme.name)
        if key != self._drawn:
            self._drawn = key
            layout = Layout(Scene(view, wounds=marks), *self.content_size)
            if marks and view.is_close_up:
                layout = layout.aimed_at((marks[0].x_cm, marks[0].y_cm), CLOSE)
            self._cells = layout.draw(palette_for(self.app), manner_for(self.app))

    def render_line(self, y: int) -> Strip:
        """Give one row of the picture."""
        self._draw()
        if y >= len(self._cells):
            return Strip.blank(self.content_size.width, self.rich_style)
        return strip_of(self._cells[y], self)
