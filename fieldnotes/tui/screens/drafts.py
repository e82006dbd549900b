"""Every form that was typed in and not saved, to go on with or to throw away."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.message import Message
from textual.widgets import OptionList

from fieldnotes.tui.screens.base import DeskScreen
from fieldnotes.tui.widgets.rows import Row, RowList, fitted

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult

    from fieldnotes.tui.ports import Draft


class DraftThrownAway(Message):
    """A draft is gone for good."""


class DraftsScreen(DeskScreen):
    """A list of drafts; `take` goes on with the one chosen."""

    NAME = "drafts"
    HEADING = "Not saved yet"
    AUTO_FOCUS: ClassVar[str | None] = "#drafts"
    EXPLAINS = (
        "Forms that were typed in and not saved, the last one first. Enter goes on with one; X "
        "throws the one under the cursor away for good."
    )

    def __init__(self, drafts: tuple[Draft, ...], take: Callable[[Draft], None]) -> None:
        super().__init__()
        self._waiting = drafts
        self._take = take

    def body(self) -> ComposeResult:
        """Give the list."""
        yield RowList(id="drafts")

    def on_mount(self) -> None:
        """Fill the list."""
        self._fill()

    def _fill(self) -> None:
        drafts = self._waiting
        self.query_one(RowList).show(lambda width: tuple(_row(d, width) for d in drafts))

    def _chosen(self) -> Draft | None:
        key = self.query_one(RowList).chosen
        return next((d for d in self._waiting if d.id == key), None)

    @on(OptionList.OptionSelected)
    def _row_chosen(self) -> None:
        self.action_open()

    def action_open(self) -> None:
        """Go on with the draft under the cursor."""
        draft = self._chosen()
        if draft is not None:
            self.dismiss()
            self._take(draft)

    def action_throw_away(self) -> None:
        """Delete the draft under the cursor."""
        draft, app = self._chosen(), self.fieldnotes
        if draft is None:
            return
        self._waiting = tuple(d for d in self._waiting if d is not draft)
        self._fill()

        def discard() -> Message:
            app.discard_draft(draft.id)
            return DraftThrownAway()

        self.ask(discard, "discard")

    @on(DraftThrownAway)
    def _tell_gone(self) -> None:
        self.say("thrown away")

    def action_leave(self) -> None:
        """Go back; the drafts stay."""
        self.dismiss()


def _row(draft: Draft, width: int) -> Row:
    about = f"case {draft.case}" if draft.case else "new"
    said = "; ".join(answer for answer in draft.answers.values() if answer.strip())
    when = draft.changed[:16].replace("T", " ")
    return Row(fitted(f"{when}  {draft.title}, {about}: {said}", width), draft.id)
