"""What each owner at a stop is told: to copy, to read out, and to keep as promised."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from textual import on
from textual.message import Message
from textual.widgets import Input

from fieldnotes.tui.files import write_new
from fieldnotes.tui.screens.base import DeskScreen
from fieldnotes.tui.widgets.rows import Row, RowList, wrapped

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from fieldnotes.casework.telling import OwnerText


class TextsMade(Message):
    """The texts for the owners at a stop."""

    def __init__(self, texts: tuple[OwnerText, ...], words: str = "") -> None:
        super().__init__()
        self.texts = texts
        self.words = words


class TellScreen(DeskScreen):
    """One text for each owner."""

    NAME = "tell"
    HEADING = "Owners' texts"
    EXPLAINS = (
        "One text for each owner with a horse at the stop: only their own horses, a window of "
        "half an hour or more, and the practice's number. 'c' copies the text under the cursor, "
        "'s' saves it to a file, 'o' puts it in the outbox as mail; nothing is sent from here. "
        "'t' keeps that the owner was told it; the day is then planned to keep that window."
    )

    def __init__(self, stop: str) -> None:
        super().__init__()
        self._stop = stop
        self._texts: tuple[OwnerText, ...] = ()

    def body(self) -> ComposeResult:
        """Give the name of a file to save to, while one is asked for, and the list."""
        path = Input(placeholder="file to save to", id="path", compact=True)
        path.display = False
        yield path
        yield RowList(id="texts", classes="panel")

    def on_mount(self) -> None:
        """Ask for the texts."""
        self.query_one("#texts").focus()
        desk, stop = self.desk, self._stop
        self.ask(lambda: TextsMade(desk.road.texts(stop)), "texts")

    @on(TextsMade)
    def _show(self, event: TextsMade) -> None:
        self._texts = event.texts
        self.query_one("#texts", RowList).show(lambda w: text_rows(event.texts, w))
        if event.words:
            self.say(event.words, "done")

    def _chosen(self) -> OwnerText | None:
        key = self.query_one("#texts", RowList).chosen
        return next((t for t in self._texts if t.promise.id == key), None)

    def action_copy(self) -> None:
        """Put the text under the cursor on the clipboard."""
        text = self._chosen()
        if text is not None:
            self.app.copy_to_clipboard(text.text)
            self.say("✓ copied; if your terminal does not pass it on, mark it by mouse", "done")

    def action_told(self) -> None:
        """Keep that the owner was told."""
        text, desk, stop = self._chosen(), self.desk, self._stop
        if text is None:
            return

        def tell() -> Message:
            desk.road.tell(text)
            return TextsMade(desk.road.texts(stop), f"✓ kept: {text.name} was told")

        self.ask(tell, "texts")

    def action_save(self) -> None:
        """Ask for the name of the file with the text under the cursor."""
        text = self._chosen()
        if text is not None:
            path = self.query_one("#path", Input)
            folder = Path(path.value).expanduser().parent if path.value else Path()
            path.value = str(folder / text.file_name)
            path.display = True
            path.focus()

    @on(Input.Submitted, "#path")
    def _save(self, event: Input.Submitted) -> None:
        text, path = self._chosen(), Path(event.value).expanduser().absolute()
        self._close_path()
        if text is None:
            return

        def save() -> Message:
            write_new(path, f"{text.text}\n".encode())
            return TextsMade(self._texts, f"✓ saved to {path}")

        self.ask(save, "save")

    def action_queue(self) -> None:
        """Put the text under the cursor in the outbox."""
        text, desk = self._chosen(), self.desk
        if text is None:
            return

        def queue() -> Message:
            desk.post.queue_arrival(text)
            return TextsMade(self._texts, "✓ the text is in the outbox; nothing is sent yet")

        self.ask(queue, "queue")

    def _close_path(self) -> None:
        self.query_one("#path", Input).display = False
        self.query_one("#texts").focus()

    def action_back(self) -> None:
        """Close the file's name, else go back to the route."""
        if self.query_one("#path").display:
            self._close_path()
        else:
            self.dismiss()


def text_rows(texts: tuple[OwnerText, ...], width: int) -> tuple[Row, ...]:
    """Give each text under its owner, with what was told before."""
    rows = []
    for text in texts:
        told, moves = text.told, ", and it moves" if text.moved else ""
        state = f"told {told.opens:%H:%M}-{told.closes:%H:%M}{moves}" if told else "not told yet"
        head = wrapped(f"{text.name}   {text.phone}   {state}", width, "bold")
        rows.append(Row(head))
        rows.append(Row(wrapped(text.text, width - 2, "", 2), text.promise.id))
    return tuple(rows)
