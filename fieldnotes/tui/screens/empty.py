"""A store with nothing in it: set up a practice, import records, or look at the demo."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.content import Content
from textual.message import Message
from textual.widgets import Input, Static

from fieldnotes.tui.screens.base import DeskScreen

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult

    from fieldnotes.casework.desk import Casework
    from fieldnotes.tui.ports import Drafts, Founding

WAYS = (
    ("s", "Set up your practice", "short pages; leave and go on at any time"),
    ("d", "Look at the demo", "an invented practice with a full day"),
    ("i", "Import records", "a file in our own form, or a folder"),
)
GREETING = "Wounds, aftercare and the day's round, kept on this computer."


class StoreMade(Message):
    """A store was made, or opened again, and can be worked in or set up."""

    def __init__(self, desk: Casework, drafts: Drafts) -> None:
        super().__init__()
        self.desk = desk
        self.drafts = drafts


class EmptyScreen(DeskScreen):
    """The three keys of an empty store."""

    NAME = "empty"
    AUTO_FOCUS: ClassVar[str | None] = ""  # none: a focused line would swallow the three keys
    HEADING = "fieldnotes"
    EXPLAINS = "There are no records in this store yet. Set one up, import one, or see the demo."

    def body(self) -> ComposeResult:
        """Give the three ways on."""
        yield Static(_words(), id="open-with")
        path = Input(placeholder="path of a file or folder to import", id="path", compact=True)
        path.display = False
        yield path

    def _make(self, way: Callable[[Founding], tuple[Casework, Drafts]]) -> None:
        founding = self.fieldnotes.founding
        if founding is not None:
            self.say("one moment ...")
            self.ask(lambda: StoreMade(*way(founding)), "make")

    def action_demo(self) -> None:
        """Look at the sample practice."""
        self._make(lambda f: f.demo())

    def action_setup(self) -> None:
        """Begin, or go on with, the pages that set a practice up."""
        self._make(lambda f: f.begin())

    def key_enter(self) -> None:
        """Begin as with s."""
        if self.focused is None:
            self.action_setup()

    def action_bring_in(self) -> None:
        """Ask for the file."""
        path = self.query_one("#path", Input)
        path.display = True
        path.focus()

    def key_escape(self) -> None:
        """Put the line for the file away; what was typed in it stays."""
        self.query_one("#path", Input).display = False
        self.set_focus(None)

    @on(Input.Submitted, "#path")
    def _file_named(self, event: Input.Submitted) -> None:
        name = event.value
        self._make(lambda f: f.bring_in(name))

    @on(StoreMade)
    def _open(self, event: StoreMade) -> None:
        self.say("")
        self.fieldnotes.first_run.store_made(event.desk, event.drafts)


def _words() -> Content:
    rows = [Content.styled("There are no records here yet.", "bold"),
            Content.styled(GREETING, "$quiet"), Content("")]  # fmt: skip
    for key, title, what in WAYS:
        rows += [
            Content.assemble((f"  {key}   ", "bold $primary"), (f"{title:<24}", "bold"),
                             (what, "$quiet")),
            Content(""),
        ]  # fmt: skip
    return Content("\n").join(rows[:-1])
