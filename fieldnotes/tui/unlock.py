"""Asks for the passphrase of a locked store, before anything of it is opened or shown."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, ClassVar

from textual.app import App

from fieldnotes.tui.screens.covered import CoveredScreen
from fieldnotes.tui.themes import THEMES

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.binding import Binding

WORDS = "This store is locked.\n\nPassphrase, or the recovery key:"


class UnlockApp(App[bool]):
    """One screen; gives True once `check` has taken what was typed."""

    CSS_PATH = "fieldnotes.tcss"
    TITLE = "fieldnotes"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[Binding | tuple[str, str] | tuple[str, str, str]]] = [
        ("escape", "quit", "Leave")
    ]

    def __init__(self, check: Callable[[str], None]) -> None:
        plain = bool(os.environ.get("NO_COLOR"))
        super().__init__(ansi_color=True if plain else None)
        self._check = check
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = "ansi" if plain else "night"

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Give the semantic slots a value in any theme."""
        return dict(THEMES[1].variables)

    def on_mount(self) -> None:
        """Ask."""
        self.push_screen(CoveredScreen(self._check, WORDS), self.exit)
