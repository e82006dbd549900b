"""The body map over a form: the arrows walk, Enter takes the region under the cursor."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import Binding
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from fieldnotes.knowledge.regions import load_regions
from fieldnotes.tui.literal import lit
from fieldnotes.tui.widgets.bodymap import BodyMap

if TYPE_CHECKING:
    from textual.app import ComposeResult

FIRST = "left.hind.metatarsus.lateral"
VIEWS = ("left", "right", "front", "back", "head-left", "head-right")
KEYS = "arrows walk   v other view   + - closer, further   Enter takes it   Esc back"


class MapScreen(ModalScreen[str]):
    """Gives the id of the region chosen, empty if none was."""

    BINDINGS: ClassVar[list[Binding | tuple[str, str] | tuple[str, str, str]]] = [
        Binding("escape", "dismiss('')", "Back"),
        Binding("v", "turn", "Other view"),
        Binding("plus,z", "zoom(1)", "Closer"),
        Binding("minus", "zoom(-1)", "Further"),
    ]

    def __init__(self, region_id: str) -> None:
        super().__init__()
        known = region_id if region_id in load_regions() else FIRST
        self._map = BodyMap(known)

    def compose(self) -> ComposeResult:
        """Lay out the map and the name of the region."""
        with Vertical(id="map"):
            yield self._map
            yield Static(id="map-name")
            yield Static(Content(KEYS), id="map-keys")

    def on_mount(self) -> None:
        """Stand on the map."""
        self._map.focus()
        self._tell(self._map.region_id)

    def _tell(self, region_id: str) -> None:
        region = load_regions().get(region_id)
        words = f"{region.standard_name}  ({region.lay_name})"
        self.query_one("#map-name", Static).update(lit(words))

    @on(BodyMap.RegionHighlighted)
    def _walked(self, event: BodyMap.RegionHighlighted) -> None:
        self._tell(event.region_id)

    @on(BodyMap.RegionChosen)
    def _chosen(self, event: BodyMap.RegionChosen) -> None:
        self.dismiss(event.region_id)

    def action_turn(self) -> None:
        """Turn to the next view."""
        at = VIEWS.index(self._map.view_key) if self._map.view_key in VIEWS else -1
        self._map.show_view(VIEWS[(at + 1) % len(VIEWS)])
        self._tell(self._map.region_id)

    def action_zoom(self, by: int) -> None:
        """Go closer to the limb, or back."""
        if by > 0:
            self._map.zoom_in()
        else:
            self._map.zoom_out()
        self._tell(self._map.region_id)
