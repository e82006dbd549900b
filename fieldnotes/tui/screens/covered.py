"""The covered screen: nothing is shown until passphrase, recovery key or PIN is typed."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.containers import Vertical
from textual.message import Message
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from fieldnotes.domain.errors import FieldnotesError
from fieldnotes.tui.literal import lit

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult


class Opened(Message):
    """What was typed is right."""


class Refused(Message):
    """What was typed is wrong, or could not be tried."""

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words = words


class CoveredScreen(ModalScreen[bool]):
    """Asks for a secret; `check` refuses a wrong one with a FieldnotesError."""

    AUTO_FOCUS: ClassVar[str | None] = "#secret"

    def __init__(self, check: Callable[[str], None], words: str) -> None:
        super().__init__()
        self._check = check
        self._words = words

    def compose(self) -> ComposeResult:
        """Give the line to type in, and room for what is wrong."""
        with Vertical(id="covered"):
            yield Static(lit(self._words))
            yield Input(password=True, id="secret", compact=True)
            yield Static(id="covered-status")
            yield Static(lit("^q leaves"), id="covered-keys")

    @on(Input.Submitted)
    def _try(self, event: Input.Submitted) -> None:
        event.stop()
        if event.value and not event.input.disabled:
            self._say("one moment ...")
            event.input.disabled = True
            secret = event.value
            self.run_worker(lambda: self._tried(secret), thread=True)

    def _tried(self, secret: str) -> None:
        try:
            self._check(secret)
        except FieldnotesError as error:
            self.post_message(Refused(str(error)))
        else:
            self.post_message(Opened())

    @on(Refused)
    def _refuse(self, event: Refused) -> None:
        self._say(f"! {event.words}")
        line = self.query_one(Input)
        line.disabled = False
        line.value = ""
        line.focus()

    @on(Opened)
    def _leave(self) -> None:
        self.dismiss(True)

    def _say(self, words: str) -> None:
        self.query_one("#covered-status", Static).update(lit(words))
