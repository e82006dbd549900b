"""A scene with its caption; one enlarged has the whole small beside it, and a bar for the part."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from fieldnotes.rendering.bodymap.blocks import Cell
from fieldnotes.rendering.bodymap.captions import ARROWS, PLAIN_ARROWS, edges, heading
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
LEAST_HEIGHT: Final = 12  # cells; lower pictures need every row for the drawing
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
        wide, high = near.main_width * ACROSS, self.drawn_height * DOWN
        camera = aimed(self.scene.view, wide, high, zoom, point)
        return replace(self, scene=replace(self.scene, camera=camera))

    @property
    def _rows_above(self) -> int:
        if self.height < LEAST_HEIGHT:
            return 0
        return 2 if edges(self.scene.view).top else 1

    @property
    def drawn_height(self) -> int:
        """Give the rows of the drawing itself, its captions not counted."""
        return self.height - self._rows_above - (self._rows_above == 2)

    @property
    def inset_width(self) -> int:
        """Give the columns of the small picture, its bar not counted; 0 if there is none."""
        if self.scene.camera.zoom == 1 or self.width < LEAST_WIDTH:
            return 0
        left, bottom, right, top = self.scene.view.bounds
        wanted = 1 + round(2 * self.drawn_height * (right - left) / (top - bottom))
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
        inset, high = self.inset_width, self.drawn_height
        row -= self._rows_above
        if column <= inset and inset:
            return point_at(self._small, inset, high, column, row)
        start = inset + 1 if inset else 0
        return point_at(self.scene, self.main_width, high, column - start, row)

    def draw(self, palette: Palette = DARK, manner: Manner = "blocks") -> Cells:
        """Draw all of it as rows of cells."""
        above, below = self._captions(palette, manner)
        return (*above, *self._pictures(palette, manner), *below)

    def _captions(self, palette: Palette, manner: Manner) -> tuple[Cells, Cells]:
        """Give the rows above and below the drawing."""
        if not self._rows_above:
            return (), ()
        colours = (palette.quiet, palette.ground) if manner == "blocks" else (None, None)
        arrows = PLAIN_ARROWS if manner == "plain" else ARROWS
        top, bottom = edges(self.scene.view)[2:]
        lines = [heading(self.scene, self.width, arrows)]
        lines += [word.center(self.width)[: self.width] for word in (top, bottom) if word]
        rows = tuple(tuple(Cell(char, *colours) for char in line) for line in lines)
        return rows[: self._rows_above], rows[self._rows_above :]

    def _pictures(self, palette: Palette, manner: Manner) -> Cells:
        """Give the rows of the drawing, or of both."""
        high = self.drawn_height
        main = draw_cells(self.scene, self.main_width, high, palette=palette, manner=manner)
        if not self.inset_width:
            return main
        small = draw_cells(self._small, self.inset_width, high, palette=palette, manner=manner)
        bar = self._bar(palette, manner)
        return tuple(
            (*beside, mark, *row) for beside, mark, row in zip(small, bar, main, strict=True)
        )

    def regions(self) -> RegionRows:
        """Give the region each cell shows; the captions show none."""
        blank: tuple[str | None, ...] = (None,) * self.width
        above, below = self._rows_above, self.height - self._rows_above - self.drawn_height
        return (*[blank] * above, *self._picture_regions(), *[blank] * below)

    def _picture_regions(self) -> RegionRows:
        main = regions_shown(self.scene, self.main_width, self.drawn_height)
        if not self.inset_width:
            return main
        small = regions_shown(self._small, self.inset_width, self.drawn_height)
        return tuple((*beside, None, *row) for beside, row in zip(small, main, strict=True))

    def _bar(self, palette: Palette, manner: Manner) -> list[Cell]:
        """Give the column between them, bold beside the part that is on show."""
        large = self.scene.frame(self.main_width, self.drawn_height)
        frame = self._small.frame(self.inset_width, self.drawn_height)
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
            for row in range(self.drawn_height)
        ]
