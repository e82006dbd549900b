"""The body map over a form: walk, find or point; Enter takes the region and the exact point."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import Binding
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from fieldnotes.domain.anatomy import MapPoint
from fieldnotes.knowledge.bodymap import CLOSE_UPS, WHOLE_VIEWS, load_view
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.tui.fields.place import Spot
from fieldnotes.tui.literal import lit
from fieldnotes.tui.widgets.bodymap import BodyMap

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from fieldnotes.tui.fields.measures import TypedSize

FIRST = "left.hind.metatarsus.lateral"
TURN_DEG = 15.0
KEYS = "arrows walk  hjkl nudge  / find  v view  + - zoom  r turn wound  Enter take"


class MapScreen(ModalScreen[Spot | None]):
    """Gives the place chosen, None if none was; `size` draws the wound to scale."""

    BINDINGS: ClassVar[list[Binding | tuple[str, str] | tuple[str, str, str]]] = [
        Binding("escape", "back", "Back"),
        Binding("v", "turn_view", "Other view"),
        Binding("plus,z", "zoom(1)", "Closer"),
        Binding("minus", "zoom(-1)", "Further"),
        Binding("slash", "find", "Find"),
        Binding("r", "turn_wound", "Turn the wound"),
    ]

    def __init__(self, spot: Spot, size: TypedSize | None = None) -> None:
        super().__init__()
        known = spot.region if spot.region in load_regions() else FIRST
        self._map = BodyMap(known, spot.view)
        self._wound_size = size
        self._angle_deg = spot.angle_deg
        if spot.point is not None:
            self._map.set_reactive(BodyMap.point, (spot.point.x_cm, spot.point.y_cm))
        self._draw_wound()

    def compose(self) -> ComposeResult:
        """Lay out the map, the name of the region and the search line."""
        with Vertical(id="map"):
            yield self._map
            yield Static(id="map-name")
            search = Input(placeholder="part of a region's name", id="map-search", compact=True)
            search.display = False
            yield search
            yield Static(Content(KEYS), id="map-keys")

    def on_mount(self) -> None:
        """Stand on the map."""
        self._map.focus()
        self._tell()

    def _draw_wound(self) -> None:
        if (
            self._wound_size is not None
            and self._wound_size.length_mm
            and self._wound_size.width_mm
        ):
            self._map.set_wound_size(
                self._wound_size.length_mm, self._wound_size.width_mm, self._angle_deg
            )

    def _tell(self) -> None:
        region = load_regions().get(self._map.region_id)
        view = load_view(self._map.view_key).title
        words = f"{region.standard_name}  ({region.lay_name})  {view}"
        self.query_one("#map-name", Static).update(lit(words))

    @on(BodyMap.RegionHighlighted)
    def _walked(self) -> None:
        self._tell()

    @on(BodyMap.RegionChosen)
    def _chosen(self, event: BodyMap.RegionChosen) -> None:
        point = MapPoint(*event.point)
        self.dismiss(Spot(event.region_id, self._map.view_shown.key, point, self._angle_deg))

    def action_turn_view(self) -> None:
        """Turn to the next view: of the whole horse, or of the limb if it is a close-up."""
        now = self._map.view_shown.id
        limb = now.partition("-")[0]
        closer = tuple(v for v in CLOSE_UPS if v.startswith(f"{limb}-"))
        views = closer if now in closer else WHOLE_VIEWS
        self._map.show_view(views[(views.index(now) + 1) % len(views)])
        self._tell()

    def action_zoom(self, by: int) -> None:
        """Go closer to the limb, or back."""
        if by > 0:
            self._map.zoom_in()
        else:
            self._map.zoom_out()
        self._tell()

    def action_turn_wound(self) -> None:
        """Turn the wound's long side, once its size is known."""
        if self._wound_size is not None and self._wound_size.length_mm:
            self._angle_deg = (self._angle_deg + TURN_DEG) % 180
            self._draw_wound()

    def action_find(self) -> None:
        """Ask for part of a name."""
        search = self.query_one("#map-search", Input)
        search.display = True
        search.focus()

    @on(Input.Changed, "#map-search")
    def _narrowed(self, event: Input.Changed) -> None:
        found = load_regions().find(event.value) if event.value.strip() else ()
        if found:
            self._map.show_region(found[0].id)
            self._tell()

    @on(Input.Submitted, "#map-search")
    def _found(self) -> None:
        self._close_search()

    def _close_search(self) -> None:
        self.query_one("#map-search", Input).display = False
        self._map.focus()

    def action_back(self) -> None:
        """Leave the search line, else the map with nothing taken."""
        if self.query_one("#map-search", Input).display:
            self._close_search()
        else:
            self.dismiss(None)
