"""The body map over a form: walk, find or point; Enter takes the region and the exact point."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar, cast

from textual import on
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from fieldnotes.clinical.synovial import Probe, SynovialRisk, as_settled, risk_at
from fieldnotes.domain.anatomy import MapPoint
from fieldnotes.domain.errors import KnowledgeError
from fieldnotes.knowledge.bodymap import CLOSE_UPS, WHOLE_VIEWS
from fieldnotes.knowledge.polygons import middle
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.rendering.place import synovial_near
from fieldnotes.tui.commands import bindings
from fieldnotes.tui.fields.place import Spot
from fieldnotes.tui.fields.sizes import TypedSize
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens import map_words
from fieldnotes.tui.widgets.bodymap import FIRST, BodyMap

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult
    from textual.binding import Binding
    from textual.timer import Timer

    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.knowledge.disputes import Option
    from fieldnotes.rendering.bodymap.wounds import WoundMark

TURN_DEG = 15.0
GROW_MM = 5.0
LEAST_MM, MOST_MM = 5.0, 1000.0
POINT_MM = 1.0
FACTS_AFTER_S = 0.06
PANEL_WIDTH = 42
PANEL_FROM = 110
SHORT_ROWS = 4
KEYS = "arrows hjkl move  / find  1-6 oidpu view  +- zoom  s joints  gwr wound  ? keys"
EXPLAINS = (
    "The body map. Arrows go from region to region, the opposite arrow back; h j k l nudge the "
    "exact point; a click takes what is under the mouse. s outlines joints, tendon sheaths and "
    "bursae and numbers those within 2 cm of the wound; the outlines are approximate and skin "
    "moves, so a distance never excludes entry. g and w make the wound longer and wider, G and W "
    "shorter and narrower, r and R turn it. The case's other wounds carry their letters; a faint "
    "outline with a small letter is a wound of an earlier case of this horse; the line above the "
    "picture tells its year, and which edge of the picture is which. Enter takes the place, "
    "and the size if it was set here."
)


@dataclass(frozen=True)
class Taken:
    """What was chosen on the map; `size` is None unless it was changed there."""

    spot: Spot
    size: TypedSize | None = None


class MapScreen(ModalScreen[Taken | None]):
    """Gives the place chosen, None if none was; `size` draws the wound to scale.

    `others` gives the wounds to draw beside it on a view; `antiseptic` is what the practice
    settled of chlorhexidine near a joint, None for what is shipped.
    """

    BINDINGS: ClassVar[list[Binding | tuple[str, str] | tuple[str, str, str]]] = cast(
        "list[Binding | tuple[str, str] | tuple[str, str, str]]", bindings("map")
    )

    def __init__(
        self,
        spot: Spot,
        size: TypedSize | None = None,
        others: Callable[[View], tuple[WoundMark, ...]] = lambda _: (),
        antiseptic: Option | None = None,
    ) -> None:
        super().__init__()
        self._antiseptic = antiseptic
        known = spot.region if spot.region in load_regions() else FIRST
        self._map = BodyMap(known, spot.view, wounds=others)
        self._wound_size = size or TypedSize()
        self._resized = False
        self._angle_deg = spot.angle_deg
        self._resting: Timer | None = None
        if spot.point is not None:
            self._map.put_point(spot.point.x_cm, spot.point.y_cm)
        self._draw_wound()

    def compose(self) -> ComposeResult:
        """Lay out the map, what lies at the point, and the search line."""
        with Vertical(id="map"):
            with Horizontal(id="map-body"):
                yield self._map
                with VerticalScroll(id="map-panel", can_focus=False):
                    yield Static(id="map-facts")
            yield Static(id="map-name")
            yield Static(id="map-short")
            search = Input(placeholder="part of a region's name", id="map-search", compact=True)
            search.display = False
            yield search
            yield Static(Content(KEYS), id="map-keys")

    def on_mount(self) -> None:
        """Stand on the map."""
        self._map.focus()
        self._fit()
        self._tell()

    def on_resize(self) -> None:
        """Show the panel where there is room for it, else a few lines."""
        self._fit()
        self._tell()

    def _fit(self) -> None:
        wide = self.size.width >= PANEL_FROM
        self.query_one("#map-panel").display = wide
        self.query_one("#map-short").display = not wide

    def _draw_wound(self) -> None:
        size = self._wound_size
        if size.length_mm and size.width_mm:
            self._map.set_wound_size(size.length_mm, size.width_mm, self._angle_deg)

    def _risk(self) -> SynovialRisk:
        draft = self._map.draft
        length = draft.length_mm if draft else POINT_MM
        width = draft.width_mm if draft else POINT_MM
        probe = Probe(self._map.view_key, *self._map.point, length, width, self._angle_deg)
        risk = risk_at(probe)
        return risk if self._antiseptic is None else as_settled(risk, self._antiseptic)

    def _tell(self) -> None:
        """Name the place at once; what lies there is told when the keys rest."""
        region = load_regions().get(self._map.region_id)
        title = self._map.view_shown.title
        words = lit(map_words.name_line(region, title, self.size.width - 2))
        self.query_one("#map-name", Static).update(words, layout=False)
        if self._resting is not None:
            self._resting.stop()
        self._resting = self.set_timer(FACTS_AFTER_S, self._tell_facts)

    def _tell_facts(self) -> None:
        view, risk = self._map.view_shown, self._risk()
        wide = self.query_one("#map-panel").display
        make = map_words.panel_text if wide else map_words.short_text
        words = make(
            load_regions().get(self._map.region_id),
            risk,
            self._map.draft,
            view,
            (PANEL_WIDTH - 4, 0) if wide else (self.size.width - 2, SHORT_ROWS),
        )
        told = self.query_one("#map-facts" if wide else "#map-short", Static)
        told.update(words, layout=wide)
        near = synovial_near(risk)[:9] if self._map.pouches_shown else ()
        self._map.set_tags(tuple((middle(n.ring), str(i)) for i, n in enumerate(near, 1)))

    @on(BodyMap.RegionHighlighted)
    def _walked(self) -> None:
        self._tell()

    @on(BodyMap.RegionChosen)
    def _chosen(self, event: BodyMap.RegionChosen) -> None:
        point = MapPoint(*event.point)
        spot = Spot(event.region_id, self._map.view_shown.key, point, self._angle_deg)
        self.dismiss(Taken(spot, self._wound_size if self._resized else None))

    def action_turn_view(self) -> None:
        """Turn to the next view: of the whole horse, or of the limb if it is a close-up."""
        now = self._map.view_shown.id
        limb = now.partition("-")[0]
        closer = tuple(v for v in CLOSE_UPS if v.startswith(f"{limb}-"))
        views = closer if now in closer else WHOLE_VIEWS
        self._show(views[(views.index(now) + 1) % len(views)])

    def action_whole(self, number: int) -> None:
        """Show a view of the whole horse or of its head by number, from 1."""
        self._show(WHOLE_VIEWS[number - 1])

    def action_face(self, face: str) -> None:
        """Show the limb under the cursor from one side: lateral, medial, dorsal, back or sole."""
        limb = load_regions().get(self._map.region_id).cls.limb or "hind"
        back = "palmar" if limb == "fore" else "plantar"
        self._show(f"{limb}-{back if face == 'back' else face}")

    def _show(self, view_id: str) -> None:
        self._try(lambda: self._map.show_view(view_id))

    def _try(self, turn: Callable[[], None]) -> None:
        """Turn the map; a drawing that cannot be read is named, and the one on show stays."""
        try:
            turn()
        except KnowledgeError as error:
            self.query_one("#map-name", Static).update(lit(f"! this view cannot be read: {error}"))
        else:
            self._tell()

    def action_zoom(self, by: int) -> None:
        """Go closer to the limb, or back."""
        self._try(self._map.zoom_in if by > 0 else self._map.zoom_out)

    def action_pouches(self) -> None:
        """Outline joints, tendon sheaths and bursae, or leave them out."""
        self._map.show_pouches(shown=not self._map.pouches_shown)
        self._tell()

    def action_scroll_facts(self, by: int) -> None:
        """Read on in the panel, or back."""
        panel = self.query_one("#map-panel", VerticalScroll)
        panel.scroll_relative(y=by * max(1, panel.size.height - 2), animate=False)

    def action_lines(self) -> None:
        """Change between filled cells and lines."""
        self._map.turn_manner()

    def action_turn_wound(self, by: int) -> None:
        """Turn the wound's long side."""
        if self._map.draft is not None:
            self._angle_deg = (self._angle_deg + by * TURN_DEG) % 180
            self._draw_wound()
            self._tell()

    def action_grow(self, side: str, by: int) -> None:
        """Make the wound longer or wider by half a centimetre, or less so."""
        now = {name: getattr(self._wound_size, name) or 0.0 for name in ("length_mm", "width_mm")}
        grown = min(max(now[side] + by * GROW_MM, LEAST_MM), MOST_MM)
        sides = {name: max(mm, LEAST_MM) for name, mm in {**now, side: grown}.items()}
        self._wound_size = replace(
            self._wound_size, length_mm=sides["length_mm"], width_mm=sides["width_mm"]
        )
        self._resized = True
        self._draw_wound()
        self._tell()

    def action_explain(self) -> None:
        """List the keys."""
        from fieldnotes.tui.screens.help import HelpScreen  # noqa: PLC0415  (seldom needed)

        self.app.push_screen(HelpScreen("map", EXPLAINS))

    def action_find(self) -> None:
        """Ask for part of a name."""
        search = self.query_one("#map-search", Input)
        search.display = True
        search.focus()

    @on(Input.Changed, "#map-search")
    def _narrowed(self, event: Input.Changed) -> None:
        found = load_regions().find(event.value) if event.value.strip() else ()
        if found:
            self._try(lambda: self._map.show_region(found[0].id))

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
