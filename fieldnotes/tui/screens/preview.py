"""A paper before it leaves: shown as it will be read, in each format, saved when told to."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from textual import on
from textual.message import Message
from textual.widgets import Input, Static

from fieldnotes.tui.files import write_new
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.records import RecordScreen
from fieldnotes.tui.screens.sheet import sheet_text
from fieldnotes.tui.widgets.rows import TextPanel, wrapped

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.content import Content

Format = tuple[str, str, str]
READ: Format = ("as it will be read", "markdown", "md")
FORMATS: tuple[Format, ...] = (
    READ,
    ("plain text", "text", "txt"),
    ("web page, its source", "html", "html"),
    ("PDF", "pdf", "pdf"),
)


class PaperMade(Message):
    """A paper was written out in one format."""

    def __init__(self, heading: str, data: bytes, at: int, above: Content | None = None) -> None:
        super().__init__()
        self.heading = heading
        self.data = data
        self.at = at
        self.above = above


class PaperDone(Message):
    """A paper was queued or saved."""

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words = words


class PreviewScreen(RecordScreen):
    """Subclasses say how the paper is made and under what name it is saved."""

    formats: tuple[Format, ...] = FORMATS
    name_of_file: str = "paper"

    def __init__(self) -> None:
        super().__init__()
        self._at = 0
        self._data = b""

    def made(self, at: int) -> PaperMade:
        """Write the paper in a format; runs in a thread."""
        raise NotImplementedError

    def body(self) -> ComposeResult:
        """Give what to know about the paper, then the paper."""
        yield Static(lit("Writing ..."), id="about")
        path = Input(placeholder="file to save to", id="path", compact=True)
        path.display = False
        yield path
        yield TextPanel(id="sheet")

    def on_mount(self) -> None:
        """Take the keys."""
        self.query_one("#sheet").focus()

    def on_screen_resume(self) -> None:
        """Write the paper anew: something in it may have changed."""
        self._make(self._at)

    def _make(self, at: int) -> None:
        self.ask(lambda: self.made(at), "paper")

    @on(PaperMade)
    def _show(self, event: PaperMade) -> None:
        self._at, self._data = event.at, event.data
        words, form, _ = self.formats[event.at]
        self.query_one("#heading", Static).update(lit(f"{event.heading}: {words}"))
        above = self.query_one("#about", Static)
        above.display = event.above is not None
        above.update(event.above or "")
        panel = self.query_one("#sheet", TextPanel)
        panel.show(lambda w: shown(event.data, form, w, read=event.at == 0))
        panel.scroll_home(animate=False)

    def action_format(self) -> None:
        """Show the next format."""
        self._make((self._at + 1) % len(self.formats))

    def action_save(self) -> None:
        """Ask for the file's name."""
        path = self.query_one("#path", Input)
        path.value = path.value or f"{self.name_of_file}.{self.formats[self._at][2]}"
        path.display = True
        path.focus()

    @on(Input.Submitted, "#path")
    def _save(self, event: Input.Submitted) -> None:
        path, data = Path(event.value).expanduser().absolute(), self._data
        self._close_path()

        def save() -> Message:
            write_new(path, data)
            return PaperDone(f"✓ saved to {path}")

        self.ask(save, "save")

    def _close_path(self) -> None:
        for field in self.query(Input):
            field.display = False
        self.query_one("#sheet").focus()

    @on(PaperDone)
    def _tell(self, event: PaperDone) -> None:
        self.say(event.words, "done")

    def action_back(self) -> None:
        """Close the line being typed in, else leave."""
        if any(field.display for field in self.query(Input)):
            self._close_path()
        else:
            self.dismiss()


def shown(data: bytes, form: str, width: int, *, read: bool) -> Content:
    """Give a paper's bytes as a terminal can show them; `read` is how its reader sees it."""
    if form in {"pdf", "file"}:
        what = "PDF" if form == "pdf" else "signed file"
        return wrapped(f"A {what} of {len(data) / 1000:.0f} kB. 's' saves it.", width)
    text = data.decode("utf-8", "replace")
    return sheet_text(text, width) if read else wrapped(text, width)
