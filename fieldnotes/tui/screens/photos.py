"""The photographs of a case: a list, and the one under the cursor beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList, Static

from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.records import RecordScreen
from fieldnotes.tui.widgets.picture import PictureView
from fieldnotes.tui.widgets.rows import Row, RowList, fitted, joined

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from fieldnotes.casework.album import Photo
    from fieldnotes.casework.desk import Casework
    from fieldnotes.clinical.tracing import Tracing
    from fieldnotes.rendering.halfblocks import Viewed


class AlbumRead(Message):
    """The photographs of a case were read."""

    def __init__(self, horse: str, photos: tuple[Photo, ...]) -> None:
        super().__init__()
        self.horse = horse
        self.photos = photos


class PictureRead(Message):
    """One photograph was decoded."""

    def __init__(self, entry: str, viewed: Viewed) -> None:
        super().__init__()
        self.entry = entry
        self.viewed = viewed


def read_picture(desk: Casework, ref: str, entry: str) -> PictureRead:
    """Decode one photograph of the store."""
    from fieldnotes.rendering.halfblocks import Viewed  # noqa: PLC0415  (only a picture pays for it)

    data = desk.album.bytes(ref, entry)
    return PictureRead(entry, Viewed(data, desk.knowledge.limits))


class PhotosScreen(RecordScreen):
    """Photographs, newest first."""

    NAME = "photos"
    EXPLAINS = (
        "The photographs of a case, newest first. 'a' copies one from a file into the store: it "
        "is checked whole, and where it was taken is removed unless you keep it. Enter opens one "
        "large to measure a wound on it; lay a ruler beside the wound, in its plane, and hold the "
        "camera square to it."
    )

    def __init__(self, ref: str) -> None:
        super().__init__()
        self.ref = ref
        self._shown = ""
        self._begun: dict[str, Tracing] = {}

    def heading(self) -> str:
        """Name the case."""
        return f"Photographs of case {self.ref}"

    def body(self) -> ComposeResult:
        """Give the list and the picture."""
        yield RowList(id="photos", classes="panel")
        yield PictureView(walks=False, id="preview")

    def on_mount(self) -> None:
        """Take the keys."""
        self.query_one("#photos").focus()

    def on_screen_resume(self) -> None:
        """Ask again: one may have been added."""
        desk, ref = self.desk, self.ref

        def read() -> Message:
            return AlbumRead(desk.file(ref).horse.name, tuple(reversed(desk.album.list(ref))))

        self.ask(read, "album")

    @on(AlbumRead)
    def _show(self, event: AlbumRead) -> None:
        self.query_one("#heading", Static).update(lit(f"Photographs   {event.horse}, {self.ref}"))
        self.query_one("#photos", RowList).show(lambda w: photo_rows(event.photos, w))
        if not event.photos:
            self.say("a adds a photograph from a file.")

    @on(OptionList.OptionHighlighted)
    def _look(self) -> None:
        entry = self.query_one("#photos", RowList).chosen
        if entry and entry != self._shown:
            self._shown = entry
            desk, ref = self.desk, self.ref
            self.ask(lambda: read_picture(desk, ref, entry), "picture")

    @on(PictureRead)
    def _preview(self, event: PictureRead) -> None:
        self.query_one("#preview", PictureView).show(event.viewed)

    @on(OptionList.OptionSelected)
    def _row_chosen(self) -> None:
        self.action_trace()

    def chosen_case(self) -> str:
        """Give this case."""
        return self.ref

    def action_add(self) -> None:
        """Add a photograph from a file."""
        self.action_form("photo")

    def action_trace(self) -> None:
        """Open the photograph under the cursor, to measure on it."""
        from fieldnotes.tui.screens.trace import TraceScreen  # noqa: PLC0415  (seldom needed)

        if entry := self.query_one("#photos", RowList).chosen:
            self.app.push_screen(TraceScreen(self.ref, entry, self._begun))
        else:
            self.say("There is no photograph yet; a adds one.")

    def action_back(self) -> None:
        """Go back to the case."""
        self.dismiss()


def photo_rows(photos: tuple[Photo, ...], width: int) -> tuple[Row, ...]:
    """Give one row for each photograph."""
    return tuple(Row(_row(photo, width), photo.entry) for photo in photos) or (
        Row(Content.styled("No photograph yet.", "$quiet")),
    )


def _row(photo: Photo, width: int) -> Content:
    picture, when = photo.picture, photo.when
    words = picture.caption or f"{picture.width_px} x {picture.height_px} {picture.format.value}"
    return joined(
        (
            fitted(f"{when.day:>2} {when:%b %y}", 9, "$quiet"),
            fitted(picture.wound or "-", 2, "bold"),
            fitted(words, max(width - 15, 8)),
        )
    )
