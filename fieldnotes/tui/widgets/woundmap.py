"""A case's wounds on the body map, those of the horse's earlier cases faint: one view at a time."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from textual.strip import Strip
from textual.widget import Widget

from fieldnotes.casework.drawings import earlier_marks, mark_on
from fieldnotes.knowledge.bodymap import load_view, views_of
from fieldnotes.rendering.bodymap.inset import Layout
from fieldnotes.rendering.bodymap.scene import Scene
from fieldnotes.rendering.handout.facts import stitched_now
from fieldnotes.tui.widgets.cells import manner_for, palette_for, strip_of

if TYPE_CHECKING:
    from fieldnotes.casework.views import CaseFile, WoundFile
    from fieldnotes.domain.cases import Case
    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.rendering.bodymap.cells import Cells
    from fieldnotes.rendering.bodymap.wounds import State, WoundMark

CLOSE = 3.0


def marks_of(wound: WoundFile, view: View, *, stitched: bool) -> tuple[WoundMark, ...]:
    """Give a wound's marks on a view: how large it was at most, faint, then how it is now.

    None where its region is not shown.
    """
    mark = mark_on(view, wound.wound, wound.last)
    if mark is None:
        return ()
    now = replace(mark, state=_state(wound, stitched=stitched))
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
        self._earlier: tuple[Case, ...] = ()
        self._views: tuple[str, ...] = ("left",)
        self._at = 0
        self._cells: Cells = ()
        self._drawn: object = None

    def show(self, file: CaseFile, earlier: tuple[Case, ...] = ()) -> None:
        """Draw a case's wounds, whole views of the horse first; those of earlier cases faint."""
        self._file, self._earlier = file, earlier
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
        now = (
            mark
            for w in file.wounds
            for mark in marks_of(w, view, stitched=stitched_now(file.case, w.wound.label))
        )
        return (*earlier_marks(view, self._earlier), *now)

    def _draw(self) -> None:
        view = load_view(self._views[self._at])
        marks = self._marks(view)
        key = (view.key, self.content_size, marks, self.app.current_theme.name)
        if key != self._drawn:
            self._drawn = key
            layout = Layout(Scene(view, wounds=marks), *self.content_size)
            if marks and view.is_tall:
                layout = layout.aimed_at((marks[-1].x_cm, marks[-1].y_cm), CLOSE)
            self._cells = layout.draw(palette_for(self.app), manner_for(self.app))

    def render_line(self, y: int) -> Strip:
        """Give one row of the picture."""
        self._draw()
        if y >= len(self._cells):
            return Strip.blank(self.content_size.width, self.rich_style)
        return strip_of(self._cells[y], self)
