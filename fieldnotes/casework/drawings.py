"""The pictures of a case: where its wounds are, and how its bandages are built."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.domain.cases import Status
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.knowledge.bodymap import (
    facing,
    load_view,
    placed_on,
    shown_as,
    shown_by_hand,
    views_of,
)
from fieldnotes.knowledge.language import ENGLISH, placed
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.rendering.bodymap.layers import BandageLayer, layers_png, layers_svg
from fieldnotes.rendering.bodymap.png import draw_png
from fieldnotes.rendering.bodymap.svg import draw_svg
from fieldnotes.rendering.bodymap.wounds import WoundMark, alternative_text
from fieldnotes.rendering.handout.facts import healed_now, stitched_now, under_cast
from fieldnotes.rendering.handout.sheet import Picture

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import CaseFile
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.wounds import Finding, Wound
    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.knowledge.language import Language
    from fieldnotes.rendering.bodymap.wounds import State

PLAIN_MARK_MM = 20.0
MAP_WIDTH_PX, PNG_WIDTH_PX = 420, 360
THIN_CM = 0.2  # a layer without a stated thickness is drawn as one turn


def view_of(wound: Wound) -> View | None:
    """Give the view a wound is drawn in: as shown by hand, else the one that faces its region."""
    side = wound.side or "left"
    others = [v.rpartition(".")[2] for v in views_of(wound.region)]
    if wound.region in load_regions() and not shown_by_hand(wound):
        others.insert(0, facing(wound.region))
    else:
        others.insert(0, wound.view.rpartition(".")[2])
    for view_id in others:
        if not view_id:
            continue
        try:
            view = load_view(view_id, "left" if side == "left" else "right")
        except RefusedInputError:
            continue
        if shown_as(view, wound.region) is not None:
            return view
    return None


def mark_on(view: View, wound: Wound, last: Finding | None) -> WoundMark | None:
    """Give a wound at its point or in the middle of its region; None where it is not seen."""
    point = (wound.point.x_cm, wound.point.y_cm) if wound.point else None
    place = placed_on(view, wound.region, wound.view, point)
    if place is None:
        return None
    length, width = (last.length_mm, last.width_mm) if last else (None, None)
    own = shown_by_hand(wound)
    along = 90.0 if view.is_tall and not own else 0.0  # how it lies was not said: along the limb
    return WoundMark(
        wound.label,
        *place,
        length_mm=length or PLAIN_MARK_MM,
        width_mm=width or (length or PLAIN_MARK_MM) / 2,
        angle_deg=wound.angle_deg or along,
        by_hand=own,
        measured=bool(length and width),
        outline_cm=last.outline_cm if last else (),
    )


def mark_of(view: View, wound: Wound, case: Case) -> WoundMark | None:
    """Give a wound of a case as large as last measured, in its state; None where not seen."""
    found = [f for _, f in case.findings(wound.label) if f.length_mm or f.outline_cm]
    mark = mark_on(view, wound, found[-1] if found else None)
    return replace(mark, state=_state(case, wound.label)) if mark else None


def earlier_cases(
    desk: Casework, horse: str, before: dt.datetime | None = None
) -> tuple[Case, ...]:
    """Give a horse's cases, all or those of injuries before a time; `horse` is its id."""
    lines = desk.cases_of(horse) if horse else ()
    refs = (line.ref for line in lines if before is None or line.injured_at < before)
    return tuple(desk.readable(desk.case, refs))


def earlier_marks(view: View, cases: Iterable[Case]) -> tuple[WoundMark, ...]:
    """Give the wounds of earlier cases, faint: a small letter, the year told beside the picture."""
    return tuple(
        replace(mark, label=wound.label.lower(), past=True, year=case.opened_at.year)
        for case in cases
        for wound in case.wounds
        if wound.region in load_regions() and (mark := mark_of(view, wound, case))
    )


def _state(case: Case, label: str) -> State:
    if case.status is Status.HEALED or healed_now(case, label):
        return "healed"
    return "stitched" if stitched_now(case, label) else "open"


def marked_views(file: CaseFile) -> tuple[tuple[View, tuple[WoundMark, ...]], ...]:
    """Give each view that shows a wound of the case, with its wounds as marks."""
    drawn: dict[str, tuple[View, list[WoundMark]]] = {}
    for wound in file.case.wounds:
        view = view_of(wound)
        mark = mark_of(view, wound, file.case) if view else None
        if view and mark:
            drawn.setdefault(view.key, (view, []))[1].append(mark)
    return tuple((view, tuple(marks)) for view, marks in drawn.values())


def pictures(
    file: CaseFile, *, png: bool = False, language: Language = ENGLISH
) -> tuple[Picture, ...]:
    """Draw each view that shows a wound, its wounds marked, and each bandage's layers.

    With `png` for readers that show no SVG, too: mail programs and PDF.
    """
    maps = tuple(
        Picture(
            name=view.key,
            svg=draw_svg(view, wounds=marks, width_px=MAP_WIDTH_PX, language=language),
            alt=_told(view, marks, file, language),
            png=draw_png(view, PNG_WIDTH_PX, wounds=marks, language=language) if png else b"",
            called=language.say("Picture"),
        )
        for view, marks in marked_views(file)
    )
    return maps + tuple(_layers(file, png=png, language=language))


def _told(view: View, marks: tuple[WoundMark, ...], file: CaseFile, language: Language) -> str:
    """Describe a map for someone who cannot see it."""
    if language is ENGLISH:
        return alternative_text(view, marks, None)
    here = {mark.label for mark in marks}
    places = [
        f"{w.wound.label} {placed(w.region, language)}"
        for w in file.wounds
        if w.wound.label in here
    ]
    return language.say("drawing of the horse with wound {places}", places="; ".join(places))


def _layers(file: CaseFile, *, png: bool, language: Language) -> Iterable[Picture]:
    """Draw the layers of each bandage the owner can reach, from the skin outward."""
    for wound in file.wounds:
        layers = wound.bandage.layers if wound.bandage else ()
        if layers and not under_cast(file.case, wound.wound.label):
            drawn = tuple(
                BandageLayer(x.material, x.role, x.thickness_cm or THIN_CM) for x in layers
            )
            label = wound.wound.label
            yield Picture(
                name=f"layers {label}",
                svg=layers_svg(drawn, title=language.say("Bandage on wound {label}", label=label)),
                alt=language.say(
                    "the {n} layers of the bandage on wound {label}, skin at the bottom",
                    n=len(layers),
                    label=label,
                ),
                called=language.say("Picture"),
                png=layers_png(drawn) if png else b"",
                kind="layers",
            )
