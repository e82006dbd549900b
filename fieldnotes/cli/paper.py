"""`fieldnotes paper REF --kind KIND`: letters, the case report, drug labels, a cast sheet."""

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
    parser.add_argument(
        "--kind", choices=("referral", "handover", "report", "labels", "cast"), required=True
    )
    parser.add_argument(
        "--format", choices=("markdown", "html", "text", "pdf", "eml"), default="markdown"
    )
    parser.add_argument("--to", metavar="ADDRESS", default="", help="who a message goes to")
    parser.add_argument("--queue", action="store_true", help="put it in the outbox for --to")
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
    if args.queue:
        post.queue_paper(args.ref, args.kind, args.to)
        say("Queued: 'fieldnotes outbox send' sends it.")
        return 0
    write_out(post.paper(args.ref, args.kind, args.format, args.to), args.output)
    return 0
