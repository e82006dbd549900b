"""A scene enlarged, with the whole view small beside it and a bar that says which part is shown."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from fieldnotes.rendering.bodymap.blocks import Cell
from fieldnotes.rendering.bodymap.cells import (
    Cells,
    Manner,
    RegionRows,
    draw_cells,
    point_at,
    regions_shown,
)
from fieldnotes.rendering.bodymap.grid import WHOLE, Camera, aimed
from fieldnotes.rendering.bodymap.palette import DARK, Palette
from fieldnotes.rendering.bodymap.scene import ACROSS, DOWN

if TYPE_CHECKING:
    from fieldnotes.knowledge.polygons import Point
    from fieldnotes.rendering.bodymap.scene import Scene

LEAST_WIDTH: Final = 48  # cells; narrower pictures have no room for a second one
SHARE: Final = 4  # at most one column of this many goes to the whole view
_BARS: Final[dict[Manner, tuple[str, str]]] = {
    "blocks": ("│", "┃"),
    "braille": ("│", "┃"),
    "plain": ("|", "H"),
}


@dataclass(frozen=True)
class Layout:
    """How a scene fills width x height cells; only an enlarged one has the whole beside it."""

    scene: Scene
    width: int
    height: int

    def aimed_at(self, point: Point, zoom: float) -> Layout:
        """Give this layout enlarged about a point."""
        near = replace(self, scene=replace(self.scene, camera=Camera(zoom)))
        camera = aimed(self.scene.view, near.main_width * ACROSS, self.height * DOWN, zoom, point)
        return replace(self, scene=replace(self.scene, camera=camera))

    @property
    def inset_width(self) -> int:
        """Give the columns of the small picture, its bar not counted; 0 if there is none."""
        if self.scene.camera.zoom == 1 or self.width < LEAST_WIDTH:
            return 0
        left, bottom, right, top = self.scene.view.bounds
        wanted = 1 + round(2 * self.height * (right - left) / (top - bottom))
        return max(6, min(self.width // SHARE, wanted))

    @property
    def main_width(self) -> int:
        """Give the columns of the large picture."""
        return self.width - self.inset_width - 1 if self.inset_width else self.width

    @property
    def _small(self) -> Scene:
        return replace(self.scene, camera=WHOLE, pouches=(), tags=(), cursor=None)

    def point_at(self, column: int, row: int) -> Point:
        """Give the centimetres under the middle of a cell of either picture."""
        inset = self.inset_width
        if column <= inset and inset:
            return point_at(self._small, inset, self.height, column, row)
        start = inset + 1 if inset else 0
        return point_at(self.scene, self.main_width, self.height, column - start, row)

    def draw(self, palette: Palette = DARK, manner: Manner = "blocks") -> Cells:
        """Draw both as rows of cells."""
        main = draw_cells(self.scene, self.main_width, self.height, palette=palette, manner=manner)
        if not self.inset_width:
            return main
        small = draw_cells(
            self._small, self.inset_width, self.height, palette=palette, manner=manner
        )
        bar = self._bar(palette, manner)
        return tuple(
            (*beside, mark, *row) for beside, mark, row in zip(small, bar, main, strict=True)
        )

    def regions(self) -> RegionRows:
        """Give the region each cell of both pictures shows."""
        main = regions_shown(self.scene, self.main_width, self.height)
        if not self.inset_width:
            return main
        small = regions_shown(self._small, self.inset_width, self.height)
        return tuple((*beside, None, *row) for beside, row in zip(small, main, strict=True))

    def _bar(self, palette: Palette, manner: Manner) -> list[Cell]:
        """Give the column between them, bold beside the part that is on show."""
        large = self.scene.frame(self.main_width, self.height)
        frame = self._small.frame(self.inset_width, self.height)
        top = frame.spot(0, large.top_cm)[1] // DOWN
        end = frame.spot(0, large.top_cm - large.step_cm * large.height)[1] // DOWN
        thin, bold = _BARS[manner]
        coloured = manner == "blocks"
        ground = palette.ground if coloured else None
        return [
            Cell(
                bold if top <= row <= end else thin,
                (palette.selected if top <= row <= end else palette.past) if coloured else None,
                ground,
            )
            for row in range(self.height)
        ]
