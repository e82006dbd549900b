"""What the screen in front is for, and every key that works on it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from fieldnotes.tui.commands import commands_for

if TYPE_CHECKING:
    from textual.app import ComposeResult

FIELDS = (
    ("Enter", "next field; takes the marked match in a search field"),
    ("Tab, Shift+Tab", "next and previous field"),
    ("letter", "chooses in a field with choices and goes on"),
    ("Up, Down", "another match or choice"),
    ("Backspace", "empties a choice"),
)
ON_MAP = (
    ("arrows", "go to the region in that direction; the opposite arrow goes back"),
    ("h j k l", "nudge the exact point left, down, up, right"),
    ("Enter", "takes the region, the point and a size set here"),
)


class HelpScreen(ModalScreen[None]):
    """The keys of one screen, from the command table."""

    BINDINGS: ClassVar[list[Binding | tuple[str, str] | tuple[str, str, str]]] = [
        Binding("escape,question_mark,f1,q,enter", "dismiss", "Close")
    ]

    def __init__(self, name: str, explains: str) -> None:
        super().__init__()
        self._screen = name
        self._explains = explains

    def compose(self) -> ComposeResult:
        """Lay out the explanation and the keys."""
        with VerticalScroll(id="help"):
            yield Static(Content(self._explains.strip()), id="explains")
            yield Static(Content("\n".join(self._lines())), id="keys")
            yield Static(
                Content("Escape closes this. ^p finds every command by name."), id="closing"
            )

    def _lines(self) -> list[str]:
        rows = [(c.shown_key, f"{c.title}: {c.help}") for c in commands_for(self._screen)]
        rows += {"form": FIELDS, "map": ON_MAP}.get(self._screen, ())
        width = max(len(key) for key, _ in rows)
        return [f"{key:<{width}}  {words}" for key, words in rows]
