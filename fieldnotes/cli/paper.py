"""`fieldnotes paper REF --kind referral|handover|report`: papers for another vet or a clinic."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.cli.opening import open_desk, write_out

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the case, the kind, the format and where to put it."""
    parser.add_argument("ref", metavar="REF", help="the case, or any unique beginning of it")
    parser.add_argument("--kind", choices=("referral", "handover", "report"), required=True)
    parser.add_argument("--format", choices=("markdown", "html", "text", "pdf"), default="markdown")
    parser.add_argument("--output", metavar="FILE", help="write here (default stdout)")


def run(args: argparse.Namespace) -> int:
    """Write the paper."""
    write_out(open_desk(args).post.paper(args.ref, args.kind, args.format), args.output)
    return 0
