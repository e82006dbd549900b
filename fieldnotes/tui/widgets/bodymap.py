"""The body map on the screen: arrows walk from region to region, letters nudge the point."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, ClassVar

from rich.segment import Segment
from rich.style import Style
from textual.binding import Binding
from textual.geometry import Region as Area
from textual.message import Message
from textual.reactive import reactive
from textual.strip import Strip
from textual.widget import Widget

from fieldnotes.knowledge.bodymap import (
    CLOSE_UPS,
    load_view,
    neighbour,
    point_in,
    region_at,
    shown_as,
    views_of,
)
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.rendering.bodymap import DARK, WoundMark, draw_cells, point_at
from fieldnotes.rendering.bodymap.palette import hex_colour

if TYPE_CHECKING:
    from textual import events
    from textual.binding import BindingType

    from fieldnotes.knowledge.bodymap import Direction, View
    from fieldnotes.knowledge.polygons import Point
    from fieldnotes.rendering.bodymap import Cell, Palette
    from fieldnotes.rendering.bodymap.palette import Colour

NUDGES_PER_VIEW = 200


@cache
def _style(fg: Colour | None, bg: Colour | None) -> Style | None:
    if fg is None or bg is None:
        return None
    return Style(color=hex_colour(fg), bgcolor=hex_colour(bg))


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
    region_id: reactive[str] = reactive("left.hind.metatarsus.lateral")
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
        region_id: str = "left.hind.metatarsus.lateral",
        view_key: str = "",
        *,
        wounds: tuple[WoundMark, ...] = (),
        palette: Palette = DARK,
        plain: bool = False,
        name: str | None = None,
        id: str | None = None,  # noqa: A002  (the name Textual uses)
        classes: str | None = None,
    ) -> None:
        super().__init__(name=name, id=id, classes=classes)
        view = load_view(view_key or next(iter(views_of(region_id)), "left"))
        shown = shown_as(view, region_id) or view.region_ids[-1]
        self.wounds = wounds
        self.palette = palette
        self.plain = plain
        self.draft: WoundMark | None = None
        self.hovered: str | None = None
        self._cells: tuple[tuple[Cell, ...], ...] = ()
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
        self.view_key = view.key
        shown = shown_as(view, self.region_id)
        if shown is None:
            shown = self._kin(view)
        self._stand_on(shown)

    def _kin(self, view: View) -> str:
        """Give the region most like the present one: same place in the limb, else the first."""
        cls = load_regions().get(self.region_id).cls
        regions = [load_regions().get(i) for i in view.region_ids]
        same = [r.id for r in regions if r.cls.part == cls.part and r.cls.limb == cls.limb]
        return same[0] if same else view.region_ids[-1]

    def show_region(self, region_id: str) -> None:
        """Go to a region, changing the view if this one lacks it."""
        if shown_as(self.view_shown, region_id) is None:
            self.view_key = views_of(region_id)[0]
        self._stand_on(shown_as(self.view_shown, region_id) or self.region_id)

    def zoom_in(self) -> None:
        """Go from the whole horse to the close-up that shows the region under the cursor best."""
        region = load_regions().get(self.region_id)
        if region.id.split(".")[1:2] == ["head"] or region.id.startswith("head."):
            self.show_view("head-right" if self.view_key == "right" else "head-left")
        elif region.cls.limb and self.view_shown.id not in CLOSE_UPS:
            wanted = f"{region.cls.limb}-{region.cls.aspect or 'lateral'}"
            view = load_view(wanted if wanted in CLOSE_UPS else f"{region.cls.limb}-lateral")
            if shown_as(load_view(view.id, region.side or "left"), region.id):
                self.show_view(view.id)

    def zoom_out(self) -> None:
        """Go back from a close-up to the whole horse, on the side the region is on."""
        side = load_regions().get(self.region_id).side or "left"
        self.show_view("right" if "right" in (side, self.view_key) else "left")

    def set_wound_size(self, length_mm: float, width_mm: float, angle_deg: float = 0.0) -> None:
        """Draw the wound being entered at this size on the point."""
        x, y = self.point
        self.draft = WoundMark("", x, y, length_mm, width_mm, angle_deg)
        self._redraw()

    def set_wounds(self, wounds: tuple[WoundMark, ...]) -> None:
        """Draw these wounds."""
        self.wounds = wounds
        self._redraw()

    def action_walk(self, direction: Direction) -> None:
        """Go to the region in that direction."""
        self._stand_on(neighbour(self.view_shown, self.region_id, direction))

    def action_nudge(self, right: int, up: int) -> None:
        """Move the point a little, as long as it stays within the region."""
        left, bottom, far, top = self.view_shown.bounds
        step = max(far - left, top - bottom) / NUDGES_PER_VIEW
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
            self.region_id = region_id
            spot = point_at(self.view_shown, *self.size, event.x, event.y)
            inside = region_at(self.view_shown, *spot) == region_id
            self._move_to(spot if inside else point_in(self.view_shown, region_id))
            self.action_choose()

    def on_mouse_move(self, event: events.MouseMove) -> None:
        """Say what lies under the mouse as a tooltip."""
        self.hovered = self._under(event)
        region = load_regions().get(self.hovered) if self.hovered else None
        self.tooltip = region.standard_name if region else None

    def _under(self, event: events.MouseEvent) -> str | None:
        if not (0 <= event.y < len(self._cells) and 0 <= event.x < len(self._cells[event.y])):
            return None
        return self._cells[event.y][event.x].region_id

    def _stand_on(self, region_id: str) -> None:
        self.region_id = region_id
        self._move_to(point_in(self.view_shown, region_id))

    def _move_to(self, point: Point) -> None:
        self.point = point
        if self.draft:
            self.draft = replace(self.draft, x_cm=point[0], y_cm=point[1])
        self._redraw()
        self.post_message(self.RegionHighlighted(self, self.region_id, point))

    def _marks(self) -> tuple[WoundMark, ...]:
        x, y = self.point
        here = self.draft or WoundMark("", x, y, 1, 1)
        return (*self.wounds, replace(here, label="+" if not self.draft else ""))

    def _draw(self) -> tuple[tuple[Cell, ...], ...]:
        return draw_cells(
            self.view_shown,
            *self.size,
            selected=self.region_id,
            wounds=self._marks(),
            palette=self.palette,
            plain=self.plain or self.app.no_color,
        )

    def _redraw(self) -> None:
        """Draw anew and repaint only the rows that changed."""
        if not self.is_attached or not self.size:
            return
        before, self._cells = self._cells, self._draw()
        if len(before) != len(self._cells):
            self.refresh()
            return
        for y, (old, new) in enumerate(zip(before, self._cells, strict=True)):
            if old != new:
                self.refresh(Area(0, y, self.size.width, 1))

    def on_resize(self) -> None:
        """Draw for the new size."""
        self._redraw()

    def render_line(self, y: int) -> Strip:
        """Give one row of the picture."""
        if y >= len(self._cells):
            return Strip.blank(self.size.width, self.rich_style)
        plain = self.rich_style
        cells = self._cells[y]
        return Strip([Segment(cell.char, _style(cell.fg, cell.bg) or plain) for cell in cells])
