"""What every screen has: the desk, a way to ask it without blocking, a status line, a footer.

A screen asks with `self.ask(lambda: CasesFound(self.desk.find_cases(text)))`. The call runs in
a thread; the message it returns (past tense, carrying everything) is posted back to the screen,
whose handler draws. A refusal or a store error arrives as `Failed`.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar, TypeVar, cast

from textual import events, on
from textual.containers import Vertical
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Static

from fieldnotes.domain.errors import FieldnotesError
from fieldnotes.tui.commands import bindings
from fieldnotes.tui.literal import lit
from fieldnotes.tui.widgets.key_line import KeyLine

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable

    from textual.app import ComposeResult
    from textual.binding import Binding

    from fieldnotes.casework.desk import Casework
    from fieldnotes.tui.app import FieldnotesApp

T = TypeVar("T")


class Failed(Message):
    """A call to the desk was refused or not possible; `group` names what was asked."""

    def __init__(self, error: FieldnotesError, group: str) -> None:
        super().__init__()
        self.error = error
        self.group = group


class StatusLine(Static):
    """One line above the footer: where we are, what was saved and when."""


class DeskScreen(Screen[None]):
    """A screen over the desk. Subclasses set NAME and give `body()`."""

    NAME: ClassVar[str] = ""
    HEADING: ClassVar[str] = ""
    EXPLAINS: ClassVar[str] = ""

    def __init_subclass__(cls, **kwargs: object) -> None:
        """Take the key bindings of the screen's name from the command table."""
        if cls.NAME and "BINDINGS" not in cls.__dict__:
            cls.BINDINGS = cast(
                "list[Binding | tuple[str, str] | tuple[str, str, str]]", bindings(cls.NAME)
            )
        super().__init_subclass__(**kwargs)  # type: ignore[arg-type]

    @property
    def fieldnotes(self) -> FieldnotesApp:
        """The app, under its own type."""
        return cast("FieldnotesApp", self.app)

    @property
    def desk(self) -> Casework:
        """The desk."""
        return self.fieldnotes.desk

    def compose(self) -> ComposeResult:
        """Lay out heading, body, status line and footer."""
        yield Static(lit(self.heading()), id="heading")
        yield Static(id="warning")
        with Vertical(id="body"):
            yield from self.body()
        yield StatusLine(id="status")
        yield KeyLine()

    def heading(self) -> str:
        """Give the words at the top."""
        return self.HEADING

    def body(self) -> ComposeResult:
        """Give the screen's own widgets."""
        yield from ()

    @on(events.ScreenResume)
    def show_warnings(self) -> None:
        """Show what threatens the store in a line of its own, as long as something does."""
        found = self.fieldnotes.warnings
        line = self.query_one("#warning", Static)
        line.display = bool(found)
        more = f"  (and {len(found) - 1} more: U)" if len(found) > 1 else ""
        line.update(lit(f"! {found[0]}{more}" if found else ""))

    def store_opened(self) -> None:
        """Take up the desk of a store that was still being opened when the screen was shown."""

    def say(self, text: str, slot: str = "") -> None:
        """Put a sentence on the status line; `slot` is "", "done" or "overdue"."""
        line = self.query_one("#status", StatusLine)
        line.set_classes(slot)
        line.update(lit(text))

    def ask(self, call: Callable[[], Message], group: str = "ask") -> None:
        """Run a call to the desk in a thread; a newer one of the group replaces an older."""
        self.ask_and_reckon(call, lambda message: message, group)

    def ask_and_reckon(
        self, read: Callable[[], T], reckon: Callable[[T], Message], group: str
    ) -> None:
        """Read from the desk in a thread, then reckon, long perhaps, with the desk free again."""
        self.run_worker(
            partial(self._answer, read, reckon, group), group=group, exclusive=True, thread=True
        )

    def _answer(self, read: Callable[[], T], reckon: Callable[[T], Message], group: str) -> None:
        try:
            with self.fieldnotes.desk_lock:
                found = read()
            message = reckon(found)
        except FieldnotesError as error:
            message = Failed(error, group)
        self.post_message(message)

    @on(Failed)
    def _tell_failure(self, event: Failed) -> None:
        self.say(f"! {event.error}", "overdue")


def saved_at(now: dt.datetime) -> str:
    """Give the words that a save is on disk."""
    return f"✓ saved {now:%H:%M}"
