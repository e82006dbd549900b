"""Reads the screen of a piloted app as lines of text."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.app import App


def screen_text(app: App) -> str:
    """Give what the screen shows, line by line."""
    width, height = app.size
    lines = app.screen._compositor.render_strips()
    return "\n".join("".join(s.text for s in strip)[:width].rstrip() for strip in lines[:height])
