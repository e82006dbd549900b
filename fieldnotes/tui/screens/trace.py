"""A wound measured on a photograph: two points of a ruler, its length, then round the edge."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.message import Message
from textual.widgets import Input, Static

from fieldnotes.clinical.tracing import Step, Tracing, ruler_length_cm
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.pictures import Measurement
from fieldnotes.tui.literal import lit
from fieldnotes.tui.screens.base import DeskScreen, Failed, saved_at
from fieldnotes.tui.screens.photos import PictureRead, read_picture
from fieldnotes.tui.widgets.picture import PictureView

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from fieldnotes.casework.album import Photo
    from fieldnotes.domain.cases import Case

ASKS = {
    Step.RULER: "Ruler, point {n} of 2: arrows or mouse to a mark of the ruler, Enter places it.",
    Step.LENGTH: "How far are the two points apart? In cm, or with mm or in written.",
    Step.EDGE: "Edge: Enter places a point, Backspace takes it back, s closes the line.",
}


class TraceReady(Message):
    """The photograph to measure on was found, with the wounds it may show."""

    def __init__(self, photo: Photo, labels: tuple[str, ...]) -> None:
        super().__init__()
        self.photo = photo
        self.labels = labels


class TraceSaved(Message):
    """The size is on the medium."""

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words = words


def _wounds(case: Case, photo: Photo) -> tuple[str, ...]:
    """Give the wounds of a case, the one the photograph shows first."""
    labels = [w.label for w in case.wounds]
    return tuple(sorted(labels, key=lambda label: (label != photo.picture.wound, label)))


class TraceScreen(DeskScreen):
    """One photograph, large, with a crosshair."""

    NAME = "trace"
    CLOSED: ClassVar[str] = "Closed. s saves it to the record, Backspace opens it again."
    EXPLAINS = (
        "Measures a wound on a photograph. Mark two points of the ruler, type how far they are "
        "apart, then go round the wound's edge: arrows move the crosshair (with Shift eight "
        "steps), Enter or a click places a point, Backspace takes the last one back, s closes "
        "the line and then saves. + and - look closer or from further off, f shows all. The "
        "ruler must lie in the plane of the wound and the camera square to it; round a limb the "
        "picture shows less than there is."
    )

    def __init__(self, ref: str, entry: str, begun: dict[str, Tracing]) -> None:
        super().__init__()
        self.ref = ref
        self.entry = entry
        self._begun = begun  # what was placed and not saved, by photograph; kept by the list
        self._tracing = begun.get(entry, Tracing())
        self._photo: Photo | None = None
        self._labels: tuple[str, ...] = ()
        self._saving = False

    def heading(self) -> str:
        """Name what is done here."""
        return "Measure on a photograph"

    def body(self) -> ComposeResult:
        """Give the picture, what it comes to, and the field for the ruler's length."""
        yield PictureView(id="picture")
        yield Static(id="size")
        length = Input(placeholder="cm between the two points", id="path", compact=True)
        length.display = False
        yield length

    def on_mount(self) -> None:
        """Read the photograph."""
        desk, ref, entry = self.desk, self.ref, self.entry

        def found() -> Message:
            photo = desk.album.photo(ref, entry)
            return TraceReady(photo, _wounds(desk.case(ref), photo))

        self.ask(found, "photo")
        self.ask(lambda: read_picture(desk, ref, entry), "picture")
        self.query_one(PictureView).focus()

    @on(TraceReady)
    def _ready(self, event: TraceReady) -> None:
        self._photo, self._labels = event.photo, event.labels
        self._tell()

    @on(PictureRead)
    def _show(self, event: PictureRead) -> None:
        self.query_one(PictureView).show(event.viewed)
        self._take(self._tracing)

    # ----- placing

    def _take(self, tracing: Tracing) -> None:
        self._tracing = self._begun[self.entry] = tracing
        view = self.query_one(PictureView)
        view.mark(tracing.ruler, tracing.edge, closed=tracing.closed)
        asks = tracing.step is Step.LENGTH
        length = self.query_one("#path", Input)
        length.display = asks
        (length if asks else view).focus()
        self._tell()

    @on(PictureView.Pointed)
    def action_place(self) -> None:
        """Place a point under the crosshair."""
        try:
            self._take(self._tracing.placed(self.query_one(PictureView).cross))
        except RefusedInputError as error:
            self.say(f"! {error.reason}", "overdue")

    def action_undo(self) -> None:
        """Take back the last thing done."""
        self._take(self._tracing.undone())

    @on(Input.Submitted, "#path")
    def _measured(self, event: Input.Submitted) -> None:
        try:
            self._take(self._tracing.measured(ruler_length_cm(event.value)))
        except RefusedInputError as error:
            self.say(f"! {error.reason}", "overdue")

    def action_close(self) -> None:
        """Close the line; once closed, save the size."""
        if self._tracing.closed:
            self.keep()
            return
        try:
            self._take(self._tracing.finished())
        except RefusedInputError as error:
            self.say(f"! {error.reason}", "overdue")

    # ----- looking

    def action_zoom(self, by: int) -> None:
        """Look closer or from further off."""
        self.query_one(PictureView).zoom(by)

    def action_fit(self) -> None:
        """Show all of the picture."""
        self.query_one(PictureView).fit()

    def action_wound(self) -> None:
        """Measure another wound of the case."""
        self._labels = (*self._labels[1:], *self._labels[:1])
        self._tell()

    def _tell(self) -> None:
        """Say what comes next, and what the edge comes to so far."""
        tracing = self._tracing
        self.name_wound()
        self.query_one("#size", Static).update(lit(size_text(tracing)))
        asks = self.CLOSED if tracing.closed else ASKS[tracing.step]
        self.say(asks.format(n=len(tracing.ruler) + 1))

    def name_wound(self) -> None:
        """Say in the heading which wound is measured."""
        wound = self._labels[0] if self._labels else ""
        self.query_one("#heading", Static).update(
            lit(f"Measure on a photograph   case {self.ref}, wound {wound}")
        )

    # ----- leaving

    def keep(self) -> None:
        """Write the size into the record."""
        if self._photo is None or not self._labels or self._saving:
            return
        self._saving = True
        desk, ref, photo = self.desk, self.ref, self._photo
        finding = self._tracing.finding(self._labels[0])

        def save() -> Message:
            # A camera whose clock is off must not put it before the injury.
            injured = desk.case(ref).opened.injured_at
            at = photo.when if injured <= photo.when <= desk.now() else desk.now()
            desk.record(ref, Measurement(at, finding, photo.entry))
            words = f"wound {finding.wound}: {finding.area_cm2:.1f} cm2 on {at.day} {at:%b}"
            return TraceSaved(f"{saved_at(desk.now())}  {words}")

        self.ask(save, "save")

    @on(Failed)
    def _not_saved(self) -> None:
        self._saving = False

    @on(TraceSaved)
    def _saved(self, event: TraceSaved) -> None:
        self._begun.pop(self.entry, None)
        self.dismiss()
        if isinstance(self.app.screen, DeskScreen):
            self.app.screen.say(event.words, "done")

    def action_back(self) -> None:
        """Go back to the list; what was placed is there when the photograph is opened again."""
        self.dismiss()


def size_text(tracing: Tracing) -> str:
    """Give scale, area and way round as far as they are known."""
    if tracing.cm_per_px is None:
        return "no scale yet"
    size, why = tracing.size()
    scale = f"1 cm = {1 / tracing.cm_per_px:.1f} pixels"
    if size is None:
        return f"{scale}   {len(tracing.edge)} points   {why}"
    area = f"{size.area_cm2:.2f} cm2, {size.perimeter_cm:.1f} cm round"
    return f"{scale}   {len(tracing.edge)} points   {area}"
