"""The outbox: every letter to an owner, and where it stands."""

from __future__ import annotations

from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from textual import on
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList, Static

from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.records import RecordScreen
from fieldnotes.tui.widgets.rows import Row, RowList, fitted, joined

if TYPE_CHECKING:
    import datetime as dt

    from textual.app import ComposeResult

    from fieldnotes.casework.ports import Mail

STATES = {
    "queued": ("○ waits", "$due"),
    "sending": ("~ being sent", "$due"),
    "sent": ("✓ sent", "$done"),
    "failed": ("! failed", "bold $overdue"),
    "unconfirmed": ("? unconfirmed", "bold $overdue"),
}


class OutboxRead(Message):
    """The letters of the outbox."""

    def __init__(self, letters: tuple[tuple[Mail, str], ...], zone: dt.tzinfo) -> None:
        super().__init__()
        self.letters = letters
        self.zone = zone


class OutboxScreen(RecordScreen):
    """Letters, newest first."""

    NAME = "outbox"
    HEADING = "Outbox"
    EXPLAINS = (
        "Letters to owners, newest first. A queued letter waits until it is sent by hand; "
        "'unconfirmed' means the server may have taken it, so ask before sending again."
    )

    def body(self) -> ComposeResult:
        """Give the list."""
        yield RowList(id="letters", classes="panel")

    def on_mount(self) -> None:
        """Take the keys."""
        self.query_one("#letters").focus()

    def on_screen_resume(self) -> None:
        """Ask again: something may have been queued."""
        desk = self.desk

        def read() -> Message:
            names = {case.ref: case.horse for case in desk.find_cases()}
            letters = tuple((m, names.get(m.case, m.case)) for m in reversed(desk.post.outbox()))
            return OutboxRead(letters, ZoneInfo(desk.practice().zone))

        self.ask(read, "outbox")

    @on(OutboxRead)
    def _show(self, event: OutboxRead) -> None:
        waiting = sum(mail.state == "queued" for mail, _ in event.letters)
        self.query_one("#heading", Static).update(lit(f"Outbox   {waiting} waiting"))
        self.query_one("#letters", RowList).show(lambda w: letter_rows(event, w))

    def chosen_case(self) -> str:
        """Give the case of the letter under the cursor."""
        return self.query_one("#letters", RowList).chosen.partition(":")[0]

    @on(OptionList.OptionSelected)
    def _row_chosen(self) -> None:
        self.action_open()


def letter_rows(read: OutboxRead, width: int) -> tuple[Row, ...]:
    """Give one row for each letter."""
    return tuple(
        Row(_letter(mail, horse, read.zone, width), f"{mail.case}:{mail.id}")
        for mail, horse in read.letters
    ) or (Row(Content.styled("The outbox is empty.", "$quiet")),)


def _letter(mail: Mail, horse: str, zone: dt.tzinfo, width: int) -> Content:
    words, style = STATES[mail.state]
    at = mail.queued_at.astimezone(zone)
    return joined(
        (
            fitted(words, 14, style),
            fitted(f"{at.day:>2} {at:%b %H:%M}", 12, "$quiet"),
            fitted(horse, 14, "bold"),
            fitted(mail.case, 6, "$quiet"),
            fitted(", ".join(mail.recipients), max(width - 54, 12)),
        )
    )
