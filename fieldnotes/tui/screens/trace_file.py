"""A wound measured on a picture that is not in the record yet: for the form being filled in."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.widgets import Static

from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.photos import PictureRead
from fieldnotes.tui.screens.trace import TraceScreen
from fieldnotes.tui.widgets.picture import PictureView

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.message import Message

    from fieldnotes.clinical.outlines import Point
    from fieldnotes.clinical.tracing import Tracing


class TraceFileScreen(TraceScreen):
    """The picture of a file; closed, the edge goes back into the form as its size."""

    CLOSED: ClassVar[str] = "Closed. s takes it into the form, Backspace opens it again."

    def __init__(
        self, file: str, begun: dict[str, Tracing], take: Callable[[tuple[Point, ...]], None]
    ) -> None:
        super().__init__("", file, begun)
        self._give = take

    def on_mount(self) -> None:
        """Read the picture."""
        desk, file = self.desk, self.entry

        def read() -> Message:
            from fieldnotes.rendering.halfblocks import Viewed  # noqa: PLC0415  (only a picture pays for it)

            return PictureRead(file, Viewed(desk.album.taken_in(file), desk.knowledge.limits))

        self.ask(read, "picture")
        self.query_one(PictureView).focus()

    def action_wound(self) -> None:
        """Say that the form's page decides which wound it is."""
        self.say("the wound is the one of the form's page")

    def name_wound(self) -> None:
        """Name the file."""
        self.query_one("#heading", Static).update(lit(f"Measure on {self.entry}"))

    def keep(self) -> None:
        """Give the edge to the form."""
        self.dismiss()
        self._give(self._tracing.outline_cm)
