"""`fieldnotes stock`: what is in the truck, so that the load list says what it is short of.

A stop marked done uses up what its tasks need; counting an item anew overrules that.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import open_desk
from fieldnotes.cli.text import columns

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the item and its count."""
    parser.add_argument("item", nargs="?", help="an item of the load list; without one, all")
    parser.add_argument("count", nargs="?", type=float, help="how many are in the truck")
    parser.add_argument("--unit", default="", help="its unit (default: as the load list has it)")


def run(args: argparse.Namespace) -> int:
    """Keep a count, then list what is in the truck."""
    desk = open_desk(args)
    if args.item is not None:
        if args.count is None:
            from fieldnotes.domain.errors import RefusedInputError  # noqa: PLC0415

            raise RefusedInputError("count", "say how many are in the truck")
        desk.road.count(args.item, args.count, args.unit or desk.road.unit_of(args.item))
    lines = desk.road.stock()
    if args.json:
        emit_json([{"item": s.item, "count": s.count, "unit": s.unit,
                    "counted_on": s.counted_on.isoformat() if s.counted_on else None}
                   for s in lines])  # fmt: skip
        return 0
    rows = [(f"{s.count:g}", s.unit, s.item, str(s.counted_on or "")) for s in lines]
    print(columns(("count", "unit", "item", "counted"), rows) if rows else "nothing was counted")
    return 0
