"""`fieldnotes reckon wound`: area and perimeter from two diameters, an outline or squares."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.reckon.files import read_text
from fieldnotes.clinical.measuring import Size, ellipse, given, rectangle, squares, traced
from fieldnotes.clinical.series import read_outline
from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    import argparse


ARGUMENTS = {
    "length": "--length-cm",
    "width": "--width-cm",
    "depth": "--depth-mm",
    "squares": "--squares",
    "outline": "--outline",
    "area": "--area-cm2",
    "perimeter": "--perimeter-cm",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    add_size_arguments(parser)


def add_size_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the ways a wound is measured."""
    parser.add_argument("--length-cm", type=float, metavar="L", help="longest diameter")
    parser.add_argument("--width-cm", type=float, metavar="W", help="diameter across it")
    parser.add_argument("--rectangle", action="store_true", help="length x width, not an ellipse")
    parser.add_argument("--outline", metavar="FILE", help="x,y points in cm round the edge")
    parser.add_argument("--area-cm2", type=float, metavar="A", help="the area, as given")
    parser.add_argument("--perimeter-cm", type=float, metavar="P", help="all round, as measured")
    parser.add_argument("--squares", type=float, metavar="N", help="squares counted on a sheet")
    parser.add_argument("--square-cm", type=float, default=0.5, help="side of one square (0.5)")
    parser.add_argument("--depth-mm", type=float, metavar="D", help="depth, kept with the size")


def _size(args: argparse.Namespace) -> Size:
    diameters = args.length_cm is not None or args.width_cm is not None
    others = (args.outline, args.squares, args.area_cm2)
    if diameters + sum(way is not None for way in others) != 1:
        raise RefusedInputError(
            "", "give --length-cm and --width-cm, or --outline, --squares or --area-cm2"
        )
    if args.area_cm2 is not None:
        return given(args.area_cm2, args.perimeter_cm, args.depth_mm)
    if args.outline is not None:
        return traced(read_outline(read_text(args.outline)), args.depth_mm)
    if args.squares is not None:
        return squares(args.squares, args.square_cm, args.depth_mm)
    if args.length_cm is None or args.width_cm is None:
        missing = "--width-cm" if args.width_cm is None else "--length-cm"
        raise RefusedInputError(missing, "both diameters are needed")
    shape = rectangle if args.rectangle else ellipse
    return shape(args.length_cm, args.width_cm, args.depth_mm)


def size_of(args: argparse.Namespace) -> Size:
    """Give the size the arguments stand for; RefusedInputError names the argument."""
    try:
        return _size(args)
    except RefusedInputError as error:
        raise RefusedInputError(ARGUMENTS.get(error.field, error.field), error.reason) from error


def run(args: argparse.Namespace) -> int:
    """Print the area and perimeter."""
    size = size_of(args)
    if args.json:
        emit_json(
            {
                "area_cm2": size.area_cm2,
                "perimeter_cm": size.perimeter_cm,
                "measuring": size.measuring,
                "depth_mm": size.depth_mm,
            }
        )
    else:
        sys.stdout.write(
            f"{size.area_cm2:.2f} cm2, {size.perimeter_cm:.2f} cm round ({size.measuring})\n"
        )
    return 0
