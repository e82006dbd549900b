"""`fieldnotes backup [FILE]`: one verified archive of the store."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import clock_of, data_folder
from fieldnotes.storage.backup import back_up
from fieldnotes.storage.casebook import Casebook

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the archive's name."""
    parser.add_argument("file", metavar="FILE", nargs="?", help="the archive to write (.zip)")


def run(args: argparse.Namespace) -> int:
    """Write the archive and read it back."""
    book, now = Casebook(data_folder(args)), clock_of(args)()
    archive = Path(args.file or f"fieldnotes-{now.astimezone():%Y%m%d-%H%M%S}.zip").expanduser()
    with book.writing():
        count = back_up(book.folder, archive.resolve(), now)
    if args.json:
        emit_json({"archive": str(archive), "files": count})
    else:
        print(f"{archive}: {count} files, read back and verified")
    return 0
