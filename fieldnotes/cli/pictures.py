"""The body map on standard output: braille where its encoding has it, else plain characters."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from fieldnotes.rendering.bodymap.text import draw_text

if TYPE_CHECKING:
    from fieldnotes.rendering.bodymap.cells import Manner
    from fieldnotes.rendering.bodymap.scene import Scene

CLOSE = 3.0


def map_text(scene: Scene) -> str:
    """Draw a scene for the terminal; a close-up enlarged about its place."""
    encoding = (sys.stdout.encoding or "ascii").lower().replace("-", "")
    manner: Manner = "braille" if encoding.startswith("utf") else "plain"
    return draw_text(scene, zoom=CLOSE if scene.view.is_tall else 1.0, manner=manner)
