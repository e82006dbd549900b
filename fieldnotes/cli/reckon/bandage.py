"""`fieldnotes reckon bandage REGION`: the build from the skin outward and its material."""

from __future__ import annotations

import sys
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from fieldnotes.cli.command import emit_json
from fieldnotes.clinical.bandage import (
    Build,
    Entered,
    Material,
    build_of,
    check_build,
    direction,
    kind_for,
    material,
)
from fieldnotes.clinical.reckoned_text import CAUTION, build_lines, material_lines
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.knowledge.bandages import Bandages, load_bandages
from fieldnotes.knowledge.regions import Region, load_regions

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("region", nargs="+", metavar="REGION", help="id, row key or part of a name")
    for name in ("girth-cm", "height-cm", "padding-cm", "roll-cm", "roll-m", "overlap-percent"):
        parser.add_argument(f"--{name}", type=float, metavar="N")
    parser.add_argument("--passes", type=float, default=1, metavar="N")


def _regions(text: str) -> tuple[Region, ...]:
    """Give the regions meant: several only where the bandage and the girth are the same."""
    found = load_regions().find(text)
    if len({(r.cls.bandages[:1], r.cls.girth_cm) for r in found}) == 1:
        return found
    if not found:
        raise UnknownNameError("REGION", f"no region fits '{text}'")
    names = tuple(dict.fromkeys(r.cls.id for r in found))
    raise UnknownNameError("REGION", f"'{text}' fits {', '.join(names)}; write more of it", names)


def _side(regions: tuple[Region, ...]) -> str | None:
    sides = {r.side for r in regions}
    return sides.pop() if len(sides) == 1 else None


def _girth(args: argparse.Namespace, region: Region) -> tuple[float | None, str]:
    """Give the girth and where it is from: typed, or the middle of the region's default."""
    if args.girth_cm is not None:
        return args.girth_cm, "measured"
    if region.cls.girth_cm is None:
        return None, ""
    low, high = region.cls.girth_cm
    return (low + high) / 2, f"default {low:g}-{high:g} cm ({region.cls.girth_source})"


def _given(value: float | None, default: float) -> float:
    return default if value is None else value


def _material(
    args: argparse.Namespace, tables: Bandages, girth: float | None, height: float
) -> Material | None:
    if girth is None:
        return None
    roll = tables.roll
    return material(
        girth,
        _given(args.height_cm, height),
        padding_cm=_given(args.padding_cm, roll.padding_cm),
        roll_cm=_given(args.roll_cm, roll.width_cm),
        roll_m=_given(args.roll_m, roll.length_m),
        overlap_percent=_given(args.overlap_percent, roll.overlap_percent),
        passes=args.passes,
    )


def _warnings(args: argparse.Namespace, tables: Bandages, build: Build) -> list[str]:
    broken = check_build(
        tables,
        Entered(
            build.kind,
            padding_cm=args.padding_cm,
            overlap_percent=args.overlap_percent,
            roll_cm=args.roll_cm,
            lower_wrap=False if tables.kind(build.kind).lower_wrap else None,
        ),
    )
    return [f"{r.id}: {r.text} ({r.source})" for r in broken]


def _found(args: argparse.Namespace) -> tuple[dict[str, Any], Build, Material | None]:
    tables, regions = load_bandages(), _regions(" ".join(args.region))
    build = build_of(tables, kind_for(regions[0].cls))
    girth, girth_source = _girth(args, regions[0])
    height = _given(args.height_cm, tables.kind(build.kind).height_cm)
    found = _material(args, tables, girth, height)
    document = {
        "region": regions[0].cls.standard_name if len(regions) > 1 else regions[0].standard_name,
        "kind": build.kind,
        "layers": [asdict(layer) for layer in build.layers],
        "girth_cm": girth,
        "girth_source": girth_source,
        "height_cm": height,
        "turns": found.turns if found else None,
        "length_cm": found.length_cm if found else None,
        "rolls": found.rolls if found else None,
        "effective_girth_cm": found.effective_girth_cm if found else None,
        "coverage_turns": found.coverage_turns if found else None,
        "passes": args.passes,
        "direction": direction(tables, _side(regions)),
        "warnings": _warnings(args, tables, build),
        "notes": list(build.notes),
        "source": f"{build.source}; roll: {tables.roll.source}",
    }
    return document, build, found


def _lines(found: dict[str, Any], build: Build, need: Material | None) -> list[str]:
    lines = build_lines(found["region"], build)
    if need is None:
        lines.append("girth unknown: give --girth-cm for turns, length and rolls")
    else:
        told = (found["girth_cm"], found["girth_source"], found["height_cm"], found["passes"])
        lines += material_lines(need, *told)
    if found["direction"]:
        lines.append(f"direction: {found['direction']}")
    lines += [f"- {note}" for note in found["notes"]]
    lines += [f"! {warning}" for warning in found["warnings"]]
    return [*lines, f"  source: {found['source']}", CAUTION]


def run(args: argparse.Namespace) -> int:
    """Print the build and its material."""
    try:
        document, build, need = _found(args)
    except UnknownNameError:
        raise
    except RefusedInputError as error:
        argument = "REGION" if error.field == "region" else f"--{error.field}"
        raise RefusedInputError(argument, error.reason) from error
    if args.json:
        emit_json(document)
    else:
        sys.stdout.write("\n".join(_lines(document, build, need)) + "\n")
    return 0
