"""The papers of a case: choose one, read it, save it or put it in the outbox."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on
from textual.content import Content
from textual.message import Message
from textual.widgets import Input, OptionList, Static

from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.base import DeskScreen
from fieldnotes.tui.screens.preview import FORMATS, READ, PaperDone, PaperMade, PreviewScreen
from fieldnotes.tui.widgets.rows import Row, RowList, fitted, joined, wrapped

if TYPE_CHECKING:
    from textual.app import ComposeResult

HANDOUT, FILE = "handout", "file"


class KindsFound(Message):
    """The papers there are."""

    def __init__(self, horse: str, kinds: tuple[tuple[str, str, str], ...]) -> None:
        super().__init__()
        self.horse = horse
        self.kinds = kinds


class PapersScreen(DeskScreen):
    """One row for each kind of paper."""

    NAME = "papers"
    EXPLAINS = (
        "The papers of a case. Enter shows one as it will be read; there it is shown in other "
        "formats, saved or put in the outbox. Nothing is sent from here."
    )

    def __init__(self, ref: str) -> None:
        super().__init__()
        self.ref = ref

    def heading(self) -> str:
        """Name the case."""
        return f"Papers of case {self.ref}"

    def body(self) -> ComposeResult:
        """Give the list."""
        yield RowList(id="kinds", classes="panel")

    def on_mount(self) -> None:
        """Ask for the kinds."""
        self.query_one("#kinds").focus()
        desk, ref = self.desk, self.ref

        def read() -> Message:
            from fieldnotes.casework.letters import KINDS  # noqa: PLC0415  (slow to import)

            kinds = [(HANDOUT, "Owner's handout", "aftercare in plain words, with its grade")]
            kinds += [(key, kind.words, kind.about) for key, kind in KINDS.items()]
            kinds.append((FILE, "Signed file", "the case for a colleague's own fieldnotes"))
            return KindsFound(desk.file(ref).horse.name, tuple(kinds))

        self.ask(read, "kinds")

    @on(KindsFound)
    def _show(self, event: KindsFound) -> None:
        self.query_one("#heading", Static).update(lit(f"Papers   {event.horse}, case {self.ref}"))
        self.query_one("#kinds", RowList).show(lambda w: kind_rows(event.kinds, w))

    @on(OptionList.OptionSelected)
    def _row_chosen(self) -> None:
        self.action_open()

    def action_open(self) -> None:
        """Show the paper under the cursor."""
        kind = self.query_one("#kinds", RowList).chosen
        if kind == HANDOUT:
            from fieldnotes.tui.screens.handout import HandoutScreen  # noqa: PLC0415  (seldom needed)

            self.app.push_screen(HandoutScreen(self.ref))
        elif kind:
            self.app.push_screen(PaperScreen(self.ref, kind))

    def action_back(self) -> None:
        """Go back to the case."""
        self.dismiss()


def kind_rows(kinds: tuple[tuple[str, str, str], ...], width: int) -> tuple[Row, ...]:
    """Give one row for each kind."""
    return tuple(
        Row(
            joined((fitted(words, 18, "bold"), fitted(about, max(width - 20, 8), "$quiet"))),
            key,
        )
        for key, words, about in kinds
    )


class PaperScreen(PreviewScreen):
    """One paper for another reader, or the case as a signed file."""

    NAME = "paper"
    EXPLAINS = (
        "A paper as its reader will see it. 'f' shows the next format, 's' saves what is shown to "
        "a new file, 'o' puts it in the outbox for an address you type. Nothing is sent from here."
    )

    def __init__(self, ref: str, kind: str) -> None:
        super().__init__()
        self.ref, self.kind = ref, kind
        self.formats = (("signed file", FILE, "zip"),) if kind == FILE else FORMATS
        self.name_of_file = f"{'handover' if kind == FILE else kind}-{ref}"

    def heading(self) -> str:
        """Name the paper."""
        return f"Paper   case {self.ref}"

    def body(self) -> ComposeResult:
        """Give the line for an address besides."""
        to = Input(placeholder="to which email address?", id="to", compact=True)
        to.display = False
        yield to
        yield from super().body()

    def chosen_case(self) -> str:
        """Give this case."""
        return self.ref

    def made(self, at: int) -> PaperMade:
        """Write the paper."""
        from fieldnotes.casework.letters import KINDS  # noqa: PLC0415  (slow to import)

        post, horse = self.desk.post, self.desk.file(self.ref).horse.name
        if self.kind == FILE:
            said = f"Your key, to compare with the colleague on the phone: {post.fingerprint()}"
            return PaperMade(f"Handover   {horse}", post.parcel(self.ref), at, wrapped(said, 78))
        data = post.paper(self.ref, self.kind, self.formats[at][1])
        return PaperMade(f"{KINDS[self.kind].words}   {horse}", data, at)

    def action_queue(self) -> None:
        """Ask to whom it goes."""
        if self.kind == FILE:
            self.say("Save it (s) and hand it over yourself: the case is in it.")
            return
        field = self.query_one("#to", Input)
        field.display = True
        field.focus()

    @on(Input.Submitted, "#to")
    def _queue(self, event: Input.Submitted) -> None:
        desk, ref, kind, to = self.desk, self.ref, self.kind, event.value
        self._close_path()

        def queue() -> Message:
            desk.post.queue_paper(ref, kind, to)
            return PaperDone(f"✓ in the outbox for {to.strip()}; nothing is sent yet")

        self.ask(queue, "queue")


class DaySheetScreen(PreviewScreen):
    """The day sheet for the truck."""

    NAME = "daysheet"
    HEADING = "Day sheet"
    EXPLAINS = (
        "The day sheet for the truck: stops with phones and tasks to tick, and what to load. 'f' "
        "shows the next format, 's' saves what is shown to a new file to print."
    )
    formats = (READ, *FORMATS[1:])
    name_of_file = "day-sheet"

    def made(self, at: int) -> PaperMade:
        """Write the sheet."""
        data = self.desk.post.day_sheet(self.formats[at][1])
        return PaperMade("Day sheet", data, at, Content("To print: f to PDF or web page, s saves."))
