"""A screen of panels: all beside each other, or one of them alone and large."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.tui.screens.base import DeskScreen

if TYPE_CHECKING:
    from textual.widget import Widget


class PanelScreen(DeskScreen):
    """Panels carry the class `panel`; one key makes one large, the same key puts it back."""

    large = ""

    def action_large(self, name: str) -> None:
        """Show one panel alone, or all again."""
        self.large = "" if self.large == name else name
        self.set_class(bool(self.large), "-one-panel")
        for panel in self.query(".panel"):
            panel.set_class(panel.id == self.large, "-large")
        self.front_panel().focus()
        self.call_after_refresh(self.redraw)

    def front_panel(self) -> Widget:
        """Give the panel that takes the keys: the large one, else the first."""
        return self.query_one(f"#{self.large}") if self.large else self.query(".panel").first()

    def redraw(self) -> None:
        """Make texts anew that are longer when large."""
