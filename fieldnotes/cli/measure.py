"""`fieldnotes measure REF`: adds one wound's size to a case, measured apart from a visit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import moment, open_desk
from fieldnotes.cli.reckon.files import read_text
from fieldnotes.cli.reckon.wound import add_size_arguments, size_of
from fieldnotes.clinical.series import read_outline
from fieldnotes.domain.pictures import Measurement
from fieldnotes.domain.wounds import Finding, Measuring

if TYPE_CHECKING:
    import argparse

MM_PER_CM = 10


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare case, wound, time, and the ways a wound is measured."""
    parser.add_argument("ref", metavar="REF")
    parser.add_argument("--wound", default="A", metavar="A", help="which wound (default A)")
    parser.add_argument("--at", metavar="ISO-8601", help="when it was measured (default now)")
    parser.add_argument("--photo", default="", metavar="ID", help="the photograph it was traced on")
    parser.add_argument("--oval", action="store_true", help="an ellipse, whatever the practice's")
    add_size_arguments(parser)


def run(args: argparse.Namespace) -> int:
    """Measure, record, and print the entry's id once it is on disk."""
    desk = open_desk(args)
    photo = desk.album.photo(args.ref, args.photo).entry if args.photo else ""
    at = moment(args.at, "--at") if args.at else desk.now()
    args.rectangle = args.rectangle or (
        not args.oval and desk.knowledge.settled("measuring").measuring is Measuring.RECTANGLE
    )
    saved = desk.record(args.ref, Measurement(at, _finding(args), photo))
    if args.json:
        emit_json({"entry": saved.entries[0]})
    else:
        print(saved.entries[0])
    return 0


def _finding(args: argparse.Namespace) -> Finding:
    size = size_of(args)
    sides = size.measuring in {Measuring.ELLIPSE, Measuring.RECTANGLE}
    counted = args.squares is not None
    return Finding(
        args.wound,
        length_mm=args.length_cm * MM_PER_CM if sides else None,
        width_mm=args.width_cm * MM_PER_CM if sides else None,
        depth_mm=args.depth_mm,
        area_cm2=None if sides else size.area_cm2,
        perimeter_cm=args.perimeter_cm if sides else size.perimeter_cm,
        measuring=size.measuring,
        outline_cm=read_outline(read_text(args.outline)) if args.outline else (),
        squares=args.squares,
        square_mm=args.square_cm * MM_PER_CM if counted else None,
    )
