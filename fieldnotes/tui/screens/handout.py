"""The owner's handout before it goes out: as it will be read, its grade, what is missing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from textual import on
from textual.content import Content
from textual.message import Message
from textual.widgets import Input, Static

from fieldnotes.domain.errors import StoreError
from fieldnotes.tui.forms.post_forms import wording
from fieldnotes.tui.forms.screen import FormScreen
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.base import DeskScreen
from fieldnotes.tui.screens.sheet import sheet_text
from fieldnotes.tui.widgets.rows import TextPanel, wrapped

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import CaseFile
    from fieldnotes.rendering.readability import Reading
    from fieldnotes.tui.forms.form import Form

FORMATS = (
    ("as the owner reads it", "markdown", "md"),
    ("markdown", "markdown", "md"),
    ("plain text", "text", "txt"),
    ("web page, its source", "html", "html"),
    ("message, its source", "eml", "eml"),
)
VERDICTS = {"pass": ("✓", "$done"), "amber": ("~", "$due"), "fail": ("!", "bold $overdue")}


class HandoutMade(Message):
    """A handout was written out in one format."""

    def __init__(self, file: CaseFile, data: bytes, grade: Reading, at: int) -> None:
        super().__init__()
        self.file = file
        self.data = data
        self.grade = grade
        self.at = at


class WordsReady(Message):
    """The form for the vet's own words was prepared."""

    def __init__(self, form: Form) -> None:
        super().__init__()
        self.form = form


class HandoutDone(Message):
    """The handout was queued or saved."""

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words = words


def write_new(path: Path, data: bytes) -> None:
    """Write a file that is not there yet; StoreError if it is, or cannot be."""
    try:
        with path.open("xb") as file:
            file.write(data)
    except FileExistsError as error:
        raise StoreError(f"{path} is there already; choose another name") from error
    except OSError as error:
        raise StoreError(f"{path}: {error.strerror}") from error


class HandoutScreen(DeskScreen):
    """The preview."""

    NAME = "handout"
    EXPLAINS = (
        "The owner's handout. 'o' puts it in the outbox, 's' saves it to a file, 'f' shows it in "
        "another format, 'e' writes own words that stand on this one alone. "
        "The reading grade counts school years; six or below is aimed at. "
        "Nothing is sent from here."
    )

    def __init__(self, ref: str) -> None:
        super().__init__()
        self.ref = ref
        self._at = 0
        self._data = b""

    def heading(self) -> str:
        """Name the handout."""
        return f"Handout   case {self.ref}"

    def body(self) -> ComposeResult:
        """Give what to know about the sheet, then the sheet."""
        yield Static(lit("Writing the handout ..."), id="about")
        path = Input(placeholder="file to save to", id="path", compact=True)
        path.display = False
        yield path
        yield TextPanel(id="sheet")

    def on_mount(self) -> None:
        """Ask for the handout."""
        self.query_one("#sheet").focus()

    def _make(self, at: int) -> None:
        desk, ref = self.desk, self.ref
        form = FORMATS[at][1]
        self.ask(
            lambda: HandoutMade(
                desk.file(ref), desk.post.handout(ref, form), desk.post.grade(ref)[1], at
            ),
            "handout",
        )

    @on(HandoutMade)
    def _show(self, event: HandoutMade) -> None:
        self._at, self._data = event.at, event.data
        name = event.file.horse.name
        self.query_one("#heading", Static).update(
            lit(f"Handout   {name}, case {self.ref}: {FORMATS[event.at][0]}")
        )
        width = max(self.size.width - 2, 40)
        self.query_one("#about", Static).update(about(event.grade, event.file.missing, width))
        text = event.data.decode("utf-8", "replace")
        panel = self.query_one("#sheet", TextPanel)
        panel.show(lambda w: sheet_text(text, w) if event.at == 0 else wrapped(text, w))
        panel.scroll_home(animate=False)

    def action_format(self) -> None:
        """Show the next format."""
        self._make((self._at + 1) % len(FORMATS))

    def action_queue(self) -> None:
        """Put the handout in the outbox."""
        desk, ref = self.desk, self.ref
        self.ask(lambda: _queued(desk, ref), "queue")

    def action_words(self) -> None:
        """Write what stands on this handout alone."""
        desk, ref = self.desk, self.ref
        self.ask(lambda: WordsReady(wording(desk, ref)), "form")

    @on(WordsReady)
    def _write_words(self, event: WordsReady) -> None:
        self.app.push_screen(FormScreen(event.form))

    def on_screen_resume(self) -> None:
        """Write the handout anew: its words may have changed."""
        self._make(self._at)

    def action_save(self) -> None:
        """Ask for the file's name."""
        path = self.query_one("#path", Input)
        path.value = path.value or f"handout-{self.ref}.{FORMATS[self._at][2]}"
        path.display = True
        path.focus()

    @on(Input.Submitted, "#path")
    def _save(self, event: Input.Submitted) -> None:
        path, data = Path(event.value).expanduser().absolute(), self._data
        self._close_path()

        def save() -> Message:
            write_new(path, data)
            return HandoutDone(f"✓ saved to {path}")

        self.ask(save, "save")

    def _close_path(self) -> None:
        self.query_one("#path", Input).display = False
        self.query_one("#sheet").focus()

    @on(HandoutDone)
    def _tell(self, event: HandoutDone) -> None:
        self.say(event.words, "done")

    def action_back(self) -> None:
        """Close the file's name, else leave."""
        if self.query_one("#path").display:
            self._close_path()
        else:
            self.dismiss()


def _queued(desk: Casework, ref: str) -> Message:
    desk.post.queue_handout(ref)
    return HandoutDone("✓ the handout is in the outbox; nothing is sent yet")


def about(grade: Reading, missing: tuple[str, ...], width: int) -> Content:
    """Give the reading grade in words, what is missing, and the hardest sentence if it matters."""
    sign, style = VERDICTS[grade.verdict]
    words = f"{sign} Reading grade {grade.flesch_kincaid_grade:.1f} ({grade.verdict}; aim 6)"
    facts = f"   {grade.words} words, reading ease {grade.flesch_reading_ease:.0f}"
    lines = [Content.styled(words, style) + Content.styled(facts, "$quiet")]
    if missing:
        lines.append(wrapped(f"? not known: {', '.join(missing)}", width, "bold $due"))
    if grade.verdict != "pass" and grade.hardest:
        lines.append(wrapped(f"Hardest: {grade.hardest[0]}", width, "$quiet"))
    return Content("\n").join(lines)
