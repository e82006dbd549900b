"""The words beside the body map: what lies at the point, in a panel or in a few lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content

from fieldnotes.rendering.place import (
    APPROXIMATE,
    beneath_by_kind,
    numbered,
    region_facts,
    spanned_words,
    synovial_near,
)
from fieldnotes.tui.widgets.rows import wrapped

if TYPE_CHECKING:
    from fieldnotes.clinical.synovial import SynovialRisk
    from fieldnotes.knowledge.regions import Region
    from fieldnotes.rendering.bodymap import WoundMark

GAP = Content("")
GENERAL = ("possible_entry", "no_chlorhexidine")
"""The cautions any place near a joint, sheath or bursa has."""


def name_line(region: Region, title: str) -> str:
    """Give the region's names and the view's."""
    return f"{region.standard_name}  ({region.lay_name})  {title}"


def size_words(draft: WoundMark | None) -> str:
    """Say how large the wound is drawn; nothing before it has a size."""
    if draft is None:
        return ""
    size = f"{draft.length_mm / 10:g} x {draft.width_mm / 10:g} cm"
    return f"wound {size}, turned {draft.angle_deg:g} degrees"


def _near_words(risk: SynovialRisk, *, outlined: bool) -> str:
    near = "; ".join(numbered(risk)) if synovial_near(risk) else ""
    if near:
        return f"{near}  (approximate)"
    return "no outlined joint, sheath or bursa within 2 cm" if outlined else ""


def short_text(
    region: Region, risk: SynovialRisk, draft: WoundMark | None, width: int, *, outlined: bool
) -> Content:
    """Give at most four lines for a screen of 80 columns."""
    names = [s.name for s in region.cls.synovial]
    beneath = (
        f"region: {', '.join(names)}" if names else "region: no joint, sheath or bursa beneath"
    )
    near = _near_words(risk, outlined=outlined)
    last = "  ".join(p for p in (size_words(draft), spanned_words(risk.regions)) if p)
    lines = [line for line in (near, beneath, last, _pressing(risk)) if line]
    return Content("\n").join([_cut(line, width) for line in lines])


def _pressing(risk: SynovialRisk) -> str:
    """Give the caution of this very place, else what stands while entry is not excluded."""
    own = [c for c in risk.cautions if c.id not in GENERAL]
    if own:
        return f"! {own[0].text}"
    return (
        "! entry not excluded: no chlorhexidine; consider early referral" if risk.cautions else ""
    )


def _cut(line: str, width: int) -> Content:
    return Content(line if len(line) <= width else line[: max(width - 1, 0)] + "…")


def panel_text(
    region: Region, risk: SynovialRisk, draft: WoundMark | None, width: int, *, outlined: bool
) -> Content:
    """Give everything known of the place, for a panel."""
    lines = [wrapped(region.standard_name, width, "bold"), wrapped(region.lay_name, width)]
    for words in (size_words(draft), spanned_words(risk.regions)):
        lines += [wrapped(words, width)] if words else []
    lines += [GAP, Content.styled("Near this point", "bold")]
    near = numbered(risk) or ((_near_words(risk, outlined=outlined) or "no outlines here"),)
    lines += [wrapped(words, width, hang=2) for words in near]
    lines += [wrapped(APPROXIMATE, width, "$quiet")]
    for caution in risk.cautions:
        lines.append(wrapped(f"! {caution.text} ({caution.source})", width, hang=2))
    lines += [GAP, Content.styled("Beneath this region", "bold")]
    lines += [wrapped(words, width, hang=2) for words in beneath_by_kind(region)]
    lines += [GAP, wrapped("; ".join(region_facts(region)), width)]
    return Content("\n").join(lines)
