"""`fieldnotes reckon region NAME`: what lies beneath a place, how far, what to mind, and a map."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

from fieldnotes.cli.command import emit_json
from fieldnotes.clinical.reckoned_text import CAUTION
from fieldnotes.clinical.synovial import Probe, SynovialRisk, risk_at
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.knowledge.bodymap import (
    close_up_of,
    first_view_of,
    load_view,
    point_in,
    shown_as,
    views_of,
)
from fieldnotes.knowledge.polygons import middle
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.rendering.bodymap.wounds import WoundMark, alternative_text
from fieldnotes.rendering.place import (
    beneath_by_kind,
    measured_words,
    no_outline_words,
    numbered,
    region_facts,
    spanned_words,
    synovial_near,
)

if TYPE_CHECKING:
    import argparse

    from fieldnotes.clinical.synovial import Nearby
    from fieldnotes.knowledge.bodymap import View
    from fieldnotes.knowledge.regions import Region

PENETRATING = {"yes": True, "no": False, "not-examined": None}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("region", nargs="+", metavar="NAME", help="id, row key or part of a name")
    parser.add_argument(
        "--view", default="", help="the view to measure in, such as left.hind-dorsal"
    )
    parser.add_argument("--x-cm", type=float, metavar="N", help="the point in cm of the view")
    parser.add_argument("--y-cm", type=float, metavar="N")
    parser.add_argument("--length-cm", type=float, default=1.0, metavar="N")
    parser.add_argument("--width-cm", type=float, default=1.0, metavar="N")
    parser.add_argument("--depth-cm", type=float, metavar="N")
    parser.add_argument("--angle", type=float, default=0.0, metavar="DEG", help="length from level")
    parser.add_argument("--penetrating", choices=tuple(PENETRATING), default="not-examined")


def _region(text: str) -> Region:
    """Give the region meant; of a pair written without its side, the left one."""
    found = load_regions().find(text)
    if len({r.cls.id for r in found}) == 1:
        return found[0]
    return load_regions().one(text)


def _view(region: Region, wanted: str) -> View:
    """Give the view asked for, else the closest one; refused if it lacks the region."""
    side = region.side or "left"
    view = load_view(wanted or close_up_of(region.id, "") or first_view_of(region.id), side)
    if shown_as(view, region.id) is None:
        others = ", ".join(views_of(region.id))
        reason = f"{view.key} does not show {region.standard_name}; it stands in {others}"
        raise UnknownNameError("--view", reason)
    return view


def _mark(args: argparse.Namespace, region: Region, view: View) -> WoundMark:
    x, y = point_in(view, shown_as(view, region.id) or region.id)
    return WoundMark(
        "A",
        x if args.x_cm is None else args.x_cm,
        y if args.y_cm is None else args.y_cm,
        args.length_cm * 10,
        args.width_cm * 10,
        args.angle,
    )


def _risk(args: argparse.Namespace, view: View, mark: WoundMark) -> SynovialRisk:
    depth = None if args.depth_cm is None else args.depth_cm * 10
    size = (mark.length_mm, mark.width_mm, mark.angle_deg)
    asked = PENETRATING[args.penetrating]
    try:
        return risk_at(Probe(view.key, mark.x_cm, mark.y_cm, *size, depth, asked))
    except RefusedInputError as error:
        names = {"length_mm": "--length-cm", "width_mm": "--width-cm", "depth_mm": "--depth-cm"}
        field = names.get(error.field, "--x-cm, --y-cm")
        raise RefusedInputError(field, error.reason) from error


def _near(found: tuple[Nearby, ...]) -> list[dict[str, Any]]:
    return [
        {
            "structure": n.structure.id,
            "name": n.name,
            "kind": n.structure.kind,
            "distance_cm": round(n.distance_cm, 2),
            "volume_ml": list(n.structure.volume_ml) if n.structure.volume_ml else None,
            "source": n.structure.source,
        }
        for n in found
    ]


def _document(region: Region, view: View, mark: WoundMark, risk: SynovialRisk) -> dict[str, Any]:
    cls = region.cls
    return {
        "region": region.id,
        "standard_name": region.standard_name,
        "lay_name": region.lay_name,
        "row": cls.row,
        "view": view.key,
        "x_cm": mark.x_cm,
        "y_cm": mark.y_cm,
        "length_cm": mark.length_mm / 10,
        "width_cm": mark.width_mm / 10,
        "angle_deg": mark.angle_deg,
        "regions": list(risk.regions),
        "structures": [
            {"structure": s.id, "name": s.name, "kind": s.kind, "source": s.source}
            for s in cls.structures
        ],
        "beneath": _near(risk.beneath),
        "near": _near(risk.near),
        "distances": measured_words(view),
        "high_motion": cls.high_motion,
        "proud_flesh": cls.proud_flesh,
        "proud_flesh_source": cls.proud_flesh_source,
        "sequestrum_risk": cls.sequestrum_risk,
        "closing_tension": cls.closing_tension,
        "girth_cm": list(cls.girth_cm) if cls.girth_cm else None,
        "bandages": list(cls.bandages),
        "note": cls.note,
        "source": cls.source,
        "entry_not_excluded": risk.entry_not_excluded,
        "cautions": [
            {"id": c.id, "urgency": c.urgency, "text": c.text, "source": c.source}
            for c in risk.cautions
        ],
        "picture": alternative_text(view, (mark,), region.id),
    }


def _picture(view: View, region: Region, mark: WoundMark, risk: SynovialRisk) -> str:
    from fieldnotes.cli.pictures import map_text  # noqa: PLC0415  (a program asks for no picture)
    from fieldnotes.rendering.bodymap.scene import Scene  # noqa: PLC0415  (as above)

    tags = tuple((middle(n.ring), str(i)) for i, n in enumerate(synovial_near(risk)[:9], 1))
    return map_text(Scene(view, shown_as(view, region.id), (mark,), tags=tags))


def _lines(region: Region, view: View, risk: SynovialRisk) -> list[str]:
    spanned = spanned_words(risk.regions)
    near = numbered(risk) or (no_outline_words(view, region),)
    return [
        f"{region.standard_name}: {region.lay_name}",
        *([spanned] if spanned else []),
        "near this point:",
        *(f"  {words}" for words in near),
        f"  ({measured_words(view)})",
        "beneath this region:",
        *(f"  {words}" for words in beneath_by_kind(region)),
        "; ".join(region_facts(region)),
        *(f"! {c.urgency}: {c.text} ({c.source})" for c in risk.cautions),
        f"  source: {region.cls.source}",
        CAUTION,
    ]


def run(args: argparse.Namespace) -> int:
    """Print the place: its map, its facts, distances and cautions."""
    region = _region(" ".join(args.region))
    view = _view(region, args.view)
    mark = _mark(args, region, view)
    risk = _risk(args, view, mark)
    if args.json:
        emit_json(_document(region, view, mark, risk))
        return 0
    words = "\n".join(_lines(region, view, risk))
    sys.stdout.write(f"{view.title}\n{_picture(view, region, mark, risk)}\n{words}\n")
    return 0
