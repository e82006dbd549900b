"""The body map as terminal cells, plain text, SVG and PNG: domain values in, picture out."""

from fieldnotes.rendering.bodymap.blocks import Cell
from fieldnotes.rendering.bodymap.cells import Cells, Manner, draw_cells, point_at, regions_shown
from fieldnotes.rendering.bodymap.grid import WHOLE, Camera, aimed
from fieldnotes.rendering.bodymap.inset import Layout
from fieldnotes.rendering.bodymap.layers import BandageLayer, layers_svg
from fieldnotes.rendering.bodymap.palette import DARK, LIGHT, SIXTEEN, Palette
from fieldnotes.rendering.bodymap.png import draw_png
from fieldnotes.rendering.bodymap.scene import Scene
from fieldnotes.rendering.bodymap.svg import draw_svg
from fieldnotes.rendering.bodymap.text import draw_text
from fieldnotes.rendering.bodymap.wounds import WoundMark, alternative_text, regions_under

__all__ = [
    "DARK",
    "LIGHT",
    "SIXTEEN",
    "WHOLE",
    "BandageLayer",
    "Camera",
    "Cell",
    "Cells",
    "Layout",
    "Manner",
    "Palette",
    "Scene",
    "WoundMark",
    "aimed",
    "alternative_text",
    "draw_cells",
    "draw_png",
    "draw_svg",
    "draw_text",
    "layers_svg",
    "point_at",
    "regions_shown",
    "regions_under",
]
