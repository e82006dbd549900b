"""`fieldnotes calendar [REF]`: iCalendar of one case for its owner, or of all for the vet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.cli.opening import open_desk, write_out

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the case and where to put the calendar."""
    parser.add_argument("ref", metavar="REF", nargs="?", help="one case (default: all, the vet's)")
    parser.add_argument("--output", metavar="FILE", help="write here (default stdout)")


def run(args: argparse.Namespace) -> int:
    """Write the calendar."""
    write_out(open_desk(args).post.calendar(args.ref), args.output)
    return 0
