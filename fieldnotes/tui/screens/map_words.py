"""The words beside the body map: what lies at the point, in a panel or in a few lines."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING

from textual.content import Content

from fieldnotes.knowledge.regions import load_regions
from fieldnotes.rendering.place import (
    beneath_by_kind,
    measured_words,
    no_outline_words,
    numbered,
    region_facts,
    spanned_words,
    synovial_near,
)
from fieldnotes.tui.widgets.rows import wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldnotes.clinical.synovial import SynovialRisk
    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.knowledge.regions import Region
    from fieldnotes.rendering.bodymap.wounds import WoundMark

GAP = Content("")
GENERAL = ("possible_entry", "no_chlorhexidine")
"""The cautions any place near a joint, sheath or bursa has."""


def name_line(region: Region, title: str, width: int) -> str:
    """Give the region's names, and the view's where there is room for all of it."""
    names = f"{region.standard_name}  ({region.lay_name})"
    return f"{names}  {title}" if len(names) + 2 + len(title) <= width else names


def size_words(draft: WoundMark | None) -> str:
    """Say how large the wound is drawn; nothing before it has a size."""
    if draft is None:
        return ""
    size = f"{draft.length_mm / 10:g} x {draft.width_mm / 10:g} cm"
    turned = f", turned {draft.angle_deg:g} degrees" if draft.angle_deg else ""
    return f"wound {size}{turned}"


def short_text(
    region: Region,
    risk: SynovialRisk,
    draft: WoundMark | None,
    view: View,
    room: tuple[int, int],
) -> Content:
    """Give what fits a screen of 80 columns: `room` is columns and rows.

    Names there is no room for are counted, a caution ends with a sentence; nothing is cut.
    """
    width, rows = room
    seen = f"from {view.seen_from}"
    near = _listed(f"approximate, {seen}: ", numbered(risk), width)
    names = [load_regions().get(i).standard_name for i in risk.regions]
    size = size_words(draft)
    spans = f"spans {len(names)} regions: " if len(names) > 1 else ""
    sized = _listed("; ".join(w for w in (size, spans) if w), names, width) if spans else size
    told = [line for line in (near or f"{seen}: {no_outline_words(view, region)}", sized) if line]
    caution = _sentences(_pressing(risk), width, rows - len(told))
    synovial = [s.name for s in region.cls.synovial]
    beneath = _listed("beneath the region: ", synovial, width)
    if len(told) + len(caution) < rows:
        told.insert(1, beneath or _none_beneath(risk, width))
    return Content("\n").join([Content(line) for line in (*told, *caution)])


def _none_beneath(risk: SynovialRisk, width: int) -> str:
    """Say that the table names nothing beneath the region, in a way that clears nothing."""
    none = "no joint, sheath or bursa drawn beneath the region"
    names = [n.name for n in synovial_near(risk)]
    return _listed(f"{none}; near: ", names, width) if names else none


def _pressing(risk: SynovialRisk) -> str:
    """Give the caution of this very place, else what stands while entry is not excluded."""
    own = [c.text for c in risk.cautions if c.id not in GENERAL]
    said = own or [c.brief for c in risk.cautions if c.brief]
    return f"! {said[0]}" if said else ""


def _listed(head: str, names: Sequence[str], width: int) -> str:
    """Give names in one line, those there is no room for counted; nothing if there are none."""
    for shown in range(len(names), 0, -1):
        more = f", and {len(names) - shown} more" if shown < len(names) else ""
        if len(line := head + ", ".join(names[:shown]) + more) <= width:
            return line
    return head.strip(" :") if names else ""


def _sentences(text: str, width: int, rows: int) -> list[str]:
    """Give as many whole sentences as there are rows for, at least the first."""
    parts = text.split(". ")
    for shown in range(len(parts), 0, -1):
        said = ". ".join(parts[:shown])
        lines = wrap(said if shown == len(parts) else f"{said}.", width)
        if len(lines) <= rows:
            return lines
    return lines[:rows]


def panel_text(
    region: Region,
    risk: SynovialRisk,
    draft: WoundMark | None,
    view: View,
    room: tuple[int, int],
) -> Content:
    """Give everything known of the place, for a panel that scrolls: `room` is its columns."""
    width = room[0]
    lines = [wrapped(region.standard_name, width, "bold"), wrapped(region.lay_name, width)]
    for words in (size_words(draft), spanned_words(risk.regions)):
        lines += [wrapped(words, width)] if words else []
    lines += [GAP, Content.styled("Near this point", "bold")]
    near = numbered(risk) or (no_outline_words(view, region),)
    lines += [wrapped(words, width, hang=2) for words in near]
    lines += [wrapped(measured_words(view), width, "$quiet")]
    for caution in risk.cautions:
        lines.append(wrapped(f"! {caution.text} ({caution.source})", width, hang=2))
    lines += [GAP, Content.styled("Beneath this region", "bold")]
    lines += [wrapped(words, width, hang=2) for words in beneath_by_kind(region)]
    lines += [GAP, wrapped("; ".join(region_facts(region)), width)]
    return Content("\n").join(lines)
