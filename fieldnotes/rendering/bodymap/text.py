"""The map as lines of text for the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.rendering.bodymap.inset import Layout
from fieldnotes.rendering.bodymap.wounds import alternative_text

if TYPE_CHECKING:
    from fieldnotes.rendering.bodymap.cells import Manner
    from fieldnotes.rendering.bodymap.scene import Scene


def draw_text(
    scene: Scene,
    width: int = 78,
    height: int = 20,
    *,
    zoom: float = 1.0,
    manner: Manner = "plain",
) -> str:
    """Draw a scene without colour and say in words below what is marked.

    One enlarged is centred on the cursor, else on its first wound.
    """
    places = [scene.cursor] if scene.cursor else [(m.x_cm, m.y_cm) for m in scene.wounds]
    layout = Layout(scene, width, height).aimed_at(places[0] if places else (0, 0), zoom)
    rows = layout.draw(manner=manner)
    lines = ["".join(cell.char for cell in row).rstrip(" \u2800") for row in rows]
    words = alternative_text(scene.view, scene.wounds, scene.selected)
    return "\n".join([*lines, words]) + "\n"
