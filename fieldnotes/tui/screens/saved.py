"""After a save: what it changed in the plan, the plan, and the owner's handout."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on
from textual.containers import VerticalScroll
from textual.message import Message
from textual.widgets import Static

from fieldnotes.tui.forms.plan_words import plan_lines
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.base import DeskScreen

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from fieldnotes.casework.views import CaseFile


class PlanMade(Message):
    """The plan of the case as it now stands, and what the save changed in it."""

    def __init__(self, file: CaseFile, changes: tuple[str, ...]) -> None:
        super().__init__()
        self.file = file
        self.changes = changes


class HandoutRead(Message):
    """The owner's handout was written out."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text


class HandoutPutInOutbox(Message):
    """The handout stands in the outbox."""


class SavedScreen(DeskScreen):
    """What follows from the visit just saved."""

    NAME = "saved"
    EXPLAINS = (
        "It is saved. Here is what it changed in the plan and why, then the whole plan; the "
        "owner's handout can be read and queued."
    )

    def __init__(self, ref: str, words: str, unwritten: str = "") -> None:
        super().__init__()
        self._ref = ref
        self._words = words
        self._unwritten = unwritten

    def heading(self) -> str:
        """Say what was saved."""
        return f"Case {self._ref}   {self._words}"

    def body(self) -> ComposeResult:
        """Give the place for the plan or the handout."""
        with VerticalScroll(id="after"):
            yield Static(lit("making the plan ..."), id="after-text")

    def on_mount(self) -> None:
        """Ask for the plan."""
        desk, ref = self.desk, self._ref
        self.ask(lambda: PlanMade(desk.file(ref), desk.aftercare.changes(ref)), "plan")

    @on(PlanMade)
    def _show_plan(self, event: PlanMade) -> None:
        file = event.file
        lines = [f"! {self._unwritten}", ""] if self._unwritten else []
        lines += [f"Plan for {file.horse.name}", "", *plan_lines(file.plan)]
        if file.missing:
            lines += ["", f"Not known: {', '.join(file.missing)}"]
        if len(file.case.entries) > 2 and event.changes:
            lines += ["", "What this changed", "", *(f"- {line}" for line in event.changes)]
        self._show("\n".join(lines))

    def _show(self, text: str) -> None:
        self.query_one("#after-text", Static).update(lit(text))

    def action_read(self) -> None:
        """Read the handout."""
        desk, ref = self.desk, self._ref
        self.ask(lambda: HandoutRead(desk.post.handout(ref, "text").decode()), "handout")

    @on(HandoutRead)
    def _show_handout(self, event: HandoutRead) -> None:
        self._show(event.text)

    def action_queue(self) -> None:
        """Put the handout in the outbox."""
        desk, ref = self.desk, self._ref

        def queue() -> Message:
            desk.post.queue_handout(ref)
            return HandoutPutInOutbox()

        self.ask(queue, "queue")

    @on(HandoutPutInOutbox)
    def _queued(self) -> None:
        self.say("✓ handout is in the outbox", "done")

    def action_done(self) -> None:
        """Go back."""
        self.dismiss()
