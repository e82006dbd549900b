"""The outbox: every letter to an owner, and where it stands."""

from __future__ import annotations

from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from textual import on
from textual.content import Content
from textual.message import Message
from textual.widgets import Input, OptionList, Static

from fieldnotes.domain.mail import MailState
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.records import RecordScreen
from fieldnotes.tui.screens.sending import LettersSent, PasswordWanted, send_all
from fieldnotes.tui.widgets.rows import Row, RowList, fitted, joined

if TYPE_CHECKING:
    import datetime as dt

    from textual.app import ComposeResult

    from fieldnotes.casework.desk import Casework
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


class LetterQueued(Message):
    """A letter was queued, or called sent, by hand."""

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words = words


def _decided(desk: Casework, mail: str, state: str) -> Message:
    desk.post.mailroom().decide(mail, MailState(state))
    return LetterQueued("✓ the letter waits again" if state == "queued" else "✓ called sent")


def _withdrawn(desk: Casework, ref: str) -> Message:
    desk.post.withdraw(ref)
    return LetterQueued("✓ queued: it takes the dates out of the owner's calendar")


class OutboxScreen(RecordScreen):
    """Letters, newest first."""

    NAME = "outbox"
    HEADING = "Outbox"
    EXPLAINS = (
        "Letters to owners, newest first. A queued letter waits until 's' sends it, over days "
        "without a network too; 'x' stops after the letter going out. 'unconfirmed' means the "
        "server may have taken it: it never goes again by itself; 'a' sends it again, 'k' says "
        "it arrived. Nothing goes to an owner whose horse died, nor for a case on hold; 'W' "
        "queues a letter that takes a case's dates out of the owner's calendar. 'm' sets the "
        "mail server; the password is asked for or lies in the system's keyring."
    )
    stopped = False

    def body(self) -> ComposeResult:
        """Give the list."""
        secret = Input(placeholder="password", id="secret", password=True, compact=True)
        secret.display = False
        yield secret
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

    def action_send(self, password: str | None = None) -> None:
        """Send what waits."""
        desk, lock, self.stopped = self.desk, self.fieldnotes.desk_lock, False

        def progress(done: int, of: int) -> bool:
            self.app.call_from_thread(self.say, f"Sending: {done} of {of} done. x stops.")
            return not self.stopped

        self.ask(lambda: send_all(desk, lock, password, progress), "send")

    def action_stop(self) -> None:
        """Stop after the letter that is going out."""
        self.stopped = True

    @on(PasswordWanted)
    def _ask_password(self, event: PasswordWanted) -> None:
        field = self.query_one("#secret", Input)
        field.value, field.placeholder = "", f"password of {event.user}"
        field.display = True
        field.focus()

    @on(Input.Submitted, "#secret")
    def _use_password(self, event: Input.Submitted) -> None:
        self._close_secret()
        self.action_send(event.value)

    def _close_secret(self) -> None:
        field = self.query_one("#secret", Input)
        field.value, field.display = "", False
        self.query_one("#letters").focus()

    @on(LettersSent)
    def _tell(self, event: LettersSent) -> None:
        sent = sum(m.state == "sent" for m in event.mails)
        rest = [m for m in event.mails if m.state != "sent"]
        said = f"{sent} sent" + (f", {len(rest)} not: {rest[0].detail}" if rest else "")
        self.say(f"! {said}" if rest else f"✓ {said}", "overdue" if rest else "done")
        self.on_screen_resume()

    def action_decide(self, state: str) -> None:
        """Send a doubtful letter again, or call it sent."""
        mail = self.query_one("#letters", RowList).chosen.partition(":")[2]
        desk = self.desk
        if mail:
            self.ask(lambda: _decided(desk, mail, state), "decide")

    def action_withdraw(self) -> None:
        """Queue what takes the dates of the case under the cursor out of its owner's calendar."""
        desk, ref = self.desk, self.chosen_case()
        if ref:
            self.ask(lambda: _withdrawn(desk, ref), "withdraw")

    @on(LetterQueued)
    def _queued(self, event: LetterQueued) -> None:
        self.say(event.words, "done")
        self.on_screen_resume()

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
