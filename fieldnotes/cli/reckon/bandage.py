"""`fieldnotes reckon bandage REGION`: the build from the skin outward and its material."""

from __future__ import annotations

import sys
from dataclasses import asdict
from typing import TYPE_CHECKING, Any, TypeAlias

from fieldnotes.cli.command import emit_json
from fieldnotes.clinical.bandage import (
    Build,
    Entered,
    Extent,
    Material,
    Need,
    build_of,
    check_build,
    direction,
    extent,
    kind_for,
    material,
    needs,
)
from fieldnotes.clinical.reckoned_text import CAUTION, build_lines, material_lines
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.domain.treatment import Bandage, Layer
from fieldnotes.knowledge.bandages import Bandages, load_bandages
from fieldnotes.knowledge.regions import Region, load_regions

if TYPE_CHECKING:
    import argparse

    from fieldnotes.knowledge.regions import RegionClass

Needs: TypeAlias = tuple[Need, ...]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("region", nargs="+", metavar="REGION", help="id, row key or part of a name")
    for name in ("girth-cm", "height-cm", "padding-cm", "roll-cm", "roll-m", "overlap-percent"):
        parser.add_argument(f"--{name}", type=float, metavar="N")
    parser.add_argument("--passes", type=float, default=1, metavar="N")
    parser.add_argument("--changes", type=int, default=1, metavar="N", help="material for so many")


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


def _given(value: float | None, default: float) -> float:
    return default if value is None else value


def _material(args: argparse.Namespace, tables: Bandages, around: Extent) -> Material | None:
    if around.girth_cm is None:
        return None
    roll = tables.roll
    return material(
        around.girth_cm,
        around.height_cm,
        padding_cm=_given(args.padding_cm, roll.padding_cm),
        roll_cm=_given(args.roll_cm, roll.width_cm),
        roll_m=_given(args.roll_m, roll.length_m),
        overlap_percent=_given(args.overlap_percent, roll.overlap_percent),
        passes=args.passes,
    )


def _needs(args: argparse.Namespace, tables: Bandages, build: Build, cls: RegionClass) -> Needs:
    """Give what so many changes take, by material, as the load list and the handout count it."""
    layers = tuple(
        Layer(x.role, x.material, args.padding_cm if x.role == "padding" else x.thickness_cm)
        for x in build.layers
    )
    bandage = Bandage(build.kind, layers, girth_cm=args.girth_cm, height_cm=args.height_cm)
    return needs(tables, bandage, cls, args.changes)


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
    around = extent(tables, build.kind, regions[0].cls, args.girth_cm, args.height_cm)
    found = _material(args, tables, around)
    document = {
        "region": regions[0].cls.standard_name if len(regions) > 1 else regions[0].standard_name,
        "kind": build.kind,
        "layers": [asdict(layer) for layer in build.layers],
        "girth_cm": around.girth_cm,
        "girth_source": around.girth_from,
        "height_cm": around.height_cm,
        "turns": found.turns if found else None,
        "length_cm": found.length_cm if found else None,
        "rolls": found.rolls if found else None,
        "effective_girth_cm": found.effective_girth_cm if found else None,
        "coverage_turns": found.coverage_turns if found else None,
        "passes": args.passes,
        "changes": args.changes,
        "materials": [asdict(n) for n in _needs(args, tables, build, regions[0].cls)],
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
    lines.append(f"material for {found['changes']} change(s), spiral down and up again:")
    lines += [
        f"  {n['count']:g} {n['unit']} {n['item']} ({n['working']})" for n in found["materials"]
    ]
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
