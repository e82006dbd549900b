"""Where a form goes and comes back from with an answer: the body map, a photograph."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from fieldnotes.domain.wounds import Measuring
from fieldnotes.tui.fields.pictures import PicturesField, parts
from fieldnotes.tui.fields.place import PlaceField, read_spot
from fieldnotes.tui.fields.row import FieldRow
from fieldnotes.tui.fields.sizes import SizeField, edge_answer, size_on
from fieldnotes.tui.lazy import ready

if TYPE_CHECKING:
    from fieldnotes.clinical.outlines import Point
    from fieldnotes.tui.forms.screen import FormScreen
    from fieldnotes.tui.screens.map import Taken


def _row(screen: FormScreen, kind: type[PlaceField | SizeField | PicturesField]) -> FieldRow | None:
    return next((r for r in screen.query(FieldRow) if isinstance(r.field, kind)), None)


async def to_map(screen: FormScreen) -> None:
    """Choose the region on the body map, where the page has one."""
    place, size = _row(screen, PlaceField), _row(screen, SizeField)
    if place is None:
        screen.say("the body map is for the region of a wound")
        return
    at = place

    def take(taken: Taken | None) -> None:
        if taken is not None:
            at.take(taken.spot.answer())
            if taken.size is not None and size is not None:
                field = size.field
                usual = field.shape if isinstance(field, SizeField) else Measuring.ELLIPSE
                size.take(taken.size.answer(usual))
            at.editor.focus()

    others = partial(screen.form.others_on, answers=dict(screen.answers), key=at.field.key)
    body_map = await ready("screens.map:MapScreen")
    settled = screen.desk.knowledge.settled("chlorhexidine-joint")
    meant = place.matches[place.marked : place.marked + 1] if place.answer.strip() else ()
    spot = read_spot(meant[0].id if meant else place.answer)  # typed, not accepted yet: the marked
    screen.app.push_screen(body_map(spot, size_on(size), others, settled), take)


def to_photograph(screen: FormScreen) -> None:
    """Measure the wound on the last photograph named on the page."""
    from fieldnotes.tui.screens.trace_file import TraceFileScreen  # noqa: PLC0415  (seldom needed)

    named, size = _row(screen, PicturesField), _row(screen, SizeField)
    if named is None or size is None:
        screen.say("photographs are named on the page of a wound")
        return
    files = parts(named.answer)
    if not files:
        named.editor.focus()
        screen.say("name a photograph first; F9 then measures the wound on it")
        return
    taker = size

    def take(outline_cm: tuple[Point, ...]) -> None:
        taker.take(edge_answer(outline_cm))
        taker.editor.focus()

    screen.app.push_screen(TraceFileScreen(files[-1], screen.begun, take))
