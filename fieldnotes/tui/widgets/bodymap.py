"""The body map on the screen: arrows walk from region to region, letters nudge the point."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.geometry import Region as Area
from textual.message import Message
from textual.reactive import reactive
from textual.strip import Strip
from textual.widget import Widget

from fieldnotes.knowledge.bodymap import (
    close_up_of,
    first_view_of,
    load_view,
    point_in,
    region_at,
    shown_as,
    stand_in,
)
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.knowledge.walking import Walk
from fieldnotes.rendering.bodymap.inset import Layout
from fieldnotes.rendering.bodymap.scene import Scene
from fieldnotes.rendering.bodymap.wounds import WoundMark
from fieldnotes.tui.widgets.cells import manner_for, palette_for, strip_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual import events
    from textual.binding import BindingType

    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.knowledge.polygons import Point
    from fieldnotes.knowledge.walking import Direction
    from fieldnotes.rendering.bodymap.cells import Cells, Manner

NUDGES_PER_VIEW = 200
ZOOMS = (1.0, 3.7, 7.4)
FIRST = "left.hind.metatarsus.lateral"


def _first_zoom(view: View) -> int:
    """Give how close a view is shown at first: a limb is long, and would be a thread whole."""
    return 1 if view.is_tall else 0


class BodyMap(Widget, can_focus=True):
    """Shows one view of the horse and lets a person choose a region and a point in it."""

    DEFAULT_CSS = "BodyMap { height: 1fr; width: 1fr; min-height: 8; min-width: 20; }"

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "walk('left')", "Region left", show=False),
        Binding("right", "walk('right')", "Region right", show=False),
        Binding("up", "walk('up')", "Region above", show=False),
        Binding("down", "walk('down')", "Region below", show=False),
        Binding("h", "nudge(-1, 0)", "Nudge point left", show=False),
        Binding("l", "nudge(1, 0)", "Nudge point right", show=False),
        Binding("k", "nudge(0, 1)", "Nudge point up", show=False),
        Binding("j", "nudge(0, -1)", "Nudge point down", show=False),
        Binding("enter", "choose", "Choose region", show=False),
    ]

    view_key: reactive[str] = reactive("left")
    region_id: reactive[str] = reactive(FIRST)
    point: reactive[tuple[float, float]] = reactive((0.0, 0.0))

    class RegionHighlighted(Message):
        """The cursor stands on a region, at a point in cm of the view."""

        def __init__(self, body_map: BodyMap, region_id: str, point: Point) -> None:
            super().__init__()
            self.body_map = body_map
            self.region_id = region_id
            self.point = point

        @property
        def control(self) -> BodyMap:
            """Give the map that sent this."""
            return self.body_map

    class RegionChosen(RegionHighlighted):
        """The region and point were confirmed by Enter or a click."""

    def __init__(
        self,
        region_id: str = FIRST,
        view_key: str = "",
        *,
        wounds: Callable[[View], tuple[WoundMark, ...]] = lambda _: (),
        manner: Manner | None = None,
        name: str | None = None,
        id: str | None = None,  # noqa: A002  (the name Textual uses)
        classes: str | None = None,
    ) -> None:
        super().__init__(name=name, id=id, classes=classes)
        view = load_view(view_key or first_view_of(region_id))
        shown = shown_as(view, region_id) or view.region_ids[-1]
        self._wounds_on = wounds
        self._wounds = wounds(view)
        self.manner = manner
        self.draft: WoundMark | None = None
        self.hovered: str | None = None
        self.pouches_shown = False
        self.tags: tuple[tuple[Point, str], ...] = ()
        self._came_from = ""
        self._walk = Walk(shown)
        self._zoom = _first_zoom(view)
        self._cells: Cells = ()
        self.set_reactive(BodyMap.view_key, view.key)
        self.set_reactive(BodyMap.region_id, shown)
        self.set_reactive(BodyMap.point, point_in(view, shown))

    @property
    def view_shown(self) -> View:
        """Give the view on show."""
        return load_view(self.view_key)

    def show_view(self, view_id: str) -> None:
        """Turn to a view; a close-up is of the limb on the side the cursor stands on."""
        side = load_regions().get(self.region_id).side or "left"
        view = load_view(view_id, side)
        self._turn_to(view)
        self._stand_on(stand_in(view, self.region_id))

    def _turn_to(self, view: View) -> None:
        self.view_key = view.key
        self._wounds = self._wounds_on(view)
        self._zoom = _first_zoom(view)
        self._walk = Walk(self.region_id)

    def show_region(self, region_id: str) -> None:
        """Go to a region, changing the view if this one lacks it or has it behind."""
        shown = shown_as(self.view_shown, region_id)
        if shown is None or self.view_shown.is_far(shown):
            self._turn_to(load_view(first_view_of(region_id)))
        self._stand_on(shown_as(self.view_shown, region_id) or self.region_id)

    def zoom_in(self) -> None:
        """Go from the whole horse to the close-up of the region under the cursor, then closer."""
        close = "" if self.view_shown.is_close_up else close_up_of(self.region_id, self.view_key)
        if close and close != self.view_key:
            came_from = self.view_key
            self.show_view(close)
            self._came_from = came_from
        elif self._zoom + 1 < len(ZOOMS):
            self._zoom += 1
            self._redraw()

    def zoom_out(self) -> None:
        """Go further off, and from a close-up back to where one came from."""
        if self._zoom > _first_zoom(self.view_shown):
            self._zoom -= 1
            self._redraw()
            return
        side = load_regions().get(self.region_id).side or "left"
        whole = "right" if "right" in (side, self.view_key) else "left"
        back, self._came_from = self._came_from, ""
        if back and shown_as(load_view(back), self.region_id):
            whole = back
        if whole != self.view_key:
            self.show_view(whole)

    def put_point(self, x_cm: float, y_cm: float) -> None:
        """Stand on a point recorded earlier; one that lies beside the region is left out."""
        if region_at(self.view_shown, x_cm, y_cm) == self.region_id:
            self.set_reactive(BodyMap.point, (x_cm, y_cm))

    def set_wound_size(self, length_mm: float, width_mm: float, angle_deg: float = 0.0) -> None:
        """Draw the wound being entered at this size on the point."""
        x, y = self.point
        self.draft = WoundMark("", x, y, length_mm, width_mm, angle_deg)
        self._redraw()

    def set_tags(self, tags: tuple[tuple[Point, str], ...]) -> None:
        """Write these characters at these points, such as the numbers of structures."""
        if tags != self.tags:
            self.tags = tags
            self._redraw()

    def show_pouches(self, *, shown: bool) -> None:
        """Outline joints, tendon sheaths and bursae, or leave them out."""
        self.pouches_shown = shown
        self._redraw()

    def turn_manner(self) -> None:
        """Change between filled cells and lines."""
        now = self.manner or manner_for(self.app)
        self.manner = "blocks" if now != "blocks" else "braille"
        self._redraw()

    def action_walk(self, direction: Direction) -> None:
        """Go to the region in that direction."""
        walk = self._walk if self._walk.region_id == self.region_id else Walk(self.region_id)
        self._walk = walk.step(self.view_shown, direction)
        self._stand_on(self._walk.region_id)

    def action_nudge(self, right: int, up: int) -> None:
        """Move the point a little, as long as it stays within the region."""
        left, bottom, far, top = self.view_shown.bounds
        step = max(far - left, top - bottom) / NUDGES_PER_VIEW / ZOOMS[self._zoom]
        moved = (self.point[0] + right * step, self.point[1] + up * step)
        if region_at(self.view_shown, *moved) == self.region_id:
            self._move_to(moved)

    def action_choose(self) -> None:
        """Confirm the region and the point."""
        self.post_message(self.RegionChosen(self, self.region_id, self.point))

    def on_click(self, event: events.Click) -> None:
        """Choose the region and point under the mouse."""
        event.stop()
        if region_id := self._under(event):
            spot = self._layout().point_at(event.x, event.y)
            self.region_id = region_id
            inside = region_at(self.view_shown, *spot) == region_id
            self._move_to(spot if inside else point_in(self.view_shown, region_id))
            self.action_choose()

    def on_mouse_move(self, event: events.MouseMove) -> None:
        """Say what lies under the mouse as a tooltip."""
        self.hovered = self._under(event)
        region = load_regions().get(self.hovered) if self.hovered else None
        self.tooltip = region.standard_name if region else None

    def _under(self, event: events.MouseEvent) -> str | None:
        rows = self._layout().regions()
        inside = 0 <= event.y < len(rows) and 0 <= event.x < len(rows[event.y])
        return rows[event.y][event.x] if inside else None

    def _stand_on(self, region_id: str) -> None:
        self.region_id = region_id
        self._move_to(point_in(self.view_shown, region_id))

    def _move_to(self, point: Point) -> None:
        self.point = point
        self.tags = ()
        if self.draft:
            self.draft = replace(self.draft, x_cm=point[0], y_cm=point[1])
        self._redraw()
        self.post_message(self.RegionHighlighted(self, self.region_id, point))

    def _layout(self) -> Layout:
        view = self.view_shown
        scene = Scene(
            view,
            self.region_id,
            (*self._wounds, self.draft) if self.draft else self._wounds,
            self.point,
            tuple(b.ring for b in view.pouches) if self.pouches_shown else (),
            self.tags,
        )
        return Layout(scene, *self.size).aimed_at(self.point, ZOOMS[self._zoom])

    def _redraw(self) -> None:
        """Draw anew and repaint only the rows that changed."""
        if not self.is_attached or not self.size:
            return
        before = self._cells
        manner = self.manner or manner_for(self.app)
        self._cells = self._layout().draw(palette_for(self.app), manner)
        if len(before) != len(self._cells):
            self.refresh()
            return
        for y, (old, new) in enumerate(zip(before, self._cells, strict=True)):
            if old != new:
                self.refresh(Area(0, y, self.size.width, 1))

    def on_mount(self) -> None:
        """Draw in the colours of a new theme as soon as it is chosen."""
        self.app.theme_changed_signal.subscribe(self, lambda _: self._redraw())

    def on_resize(self) -> None:
        """Draw for the new size."""
        self._redraw()

    def render_line(self, y: int) -> Strip:
        """Give one row of the picture."""
        if y >= len(self._cells):
            return Strip.blank(self.size.width, self.rich_style)
        return strip_of(self._cells[y], self)
