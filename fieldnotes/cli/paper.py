"""`fieldnotes paper REF --kind referral|handover|report`: papers for another vet or a clinic."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.cli.command import say
from fieldnotes.cli.opening import open_desk, write_out
from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the case, the kind, the format and where to put it."""
    parser.add_argument("ref", metavar="REF", help="the case, or any unique beginning of it")
    parser.add_argument("--kind", choices=("referral", "handover", "report"), required=True)
    parser.add_argument("--format", choices=("markdown", "html", "text", "pdf"), default="markdown")
    parser.add_argument("--output", metavar="FILE", help="write here (default stdout)")
    parser.add_argument(
        "--file", metavar="FILE", help="a handover also as a signed file the colleague imports"
    )


def run(args: argparse.Namespace) -> int:
    """Write the paper."""
    post = open_desk(args).post
    if args.file is not None:
        if args.kind != "handover":
            raise RefusedInputError("--file", "only a handover has a signed file")
        write_out(post.parcel(args.ref), args.file)
        say(f"Signed. Your key, to compare on the phone: {post.fingerprint()}")
        if args.output is None:
            return 0
    write_out(post.paper(args.ref, args.kind, args.format), args.output)
    return 0
