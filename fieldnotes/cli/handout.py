"""`fieldnotes handout REF`: the owner's aftercare handout in one of its formats."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.cli.opening import open_desk, write_out
from fieldnotes.domain.patients import LANGUAGES

if TYPE_CHECKING:
    import argparse

FORMATS = ("markdown", "html", "text", "eml", "pdf")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the case, the format and where to put it."""
    parser.add_argument("ref", metavar="REF", help="the case, or any unique beginning of it")
    parser.add_argument("--format", choices=FORMATS, default="markdown")
    parser.add_argument("--language", choices=LANGUAGES, default="", help="not the owner's")
    parser.add_argument("--output", metavar="FILE", help="write here (default stdout)")


def run(args: argparse.Namespace) -> int:
    """Write the handout."""
    write_out(open_desk(args).post.handout(args.ref, args.format, args.language), args.output)
    return 0
