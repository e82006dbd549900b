"""`fieldnotes note REF TEXT`: adds a note; prints the entry's id once it is on disk."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import open_desk

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the case and the text."""
    parser.add_argument("ref", metavar="REF", help="the case, or any unique beginning of it")
    parser.add_argument("text", metavar="TEXT")


def run(args: argparse.Namespace) -> int:
    """Add the note."""
    saved = open_desk(args).note(args.ref, args.text)
    if args.json:
        emit_json({"case": saved.ref, "id": saved.entries[0]})
    else:
        print(saved.entries[0])
    return 0
