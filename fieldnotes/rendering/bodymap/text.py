"""The map as lines of text for the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.rendering.bodymap.cells import draw_cells
from fieldnotes.rendering.bodymap.wounds import alternative_text

if TYPE_CHECKING:
    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.rendering.bodymap.wounds import WoundMark


def draw_text(
    view: View,
    width: int = 78,
    height: int = 20,
    *,
    selected: str | None = None,
    wounds: tuple[WoundMark, ...] = (),
) -> str:
    """Draw a view with characters alone and say in words below what is marked."""
    rows = draw_cells(view, width, height, selected=selected, wounds=wounds, plain=True)
    lines = ["".join(cell.char for cell in row).rstrip() for row in rows]
    return "\n".join([*lines, alternative_text(view, wounds, selected)]) + "\n"
