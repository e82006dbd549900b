"""`fieldnotes restore FILE`: a verified archive into the (empty) store folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json, shown_progress
from fieldnotes.cli.opening import data_folder
from fieldnotes.cli.passphrase import FD, asked
from fieldnotes.storage.age import AgeFile, is_age
from fieldnotes.storage.backup import restore

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the archive."""
    parser.add_argument("file", metavar="FILE", help="an archive made by 'fieldnotes backup'")
    parser.epilog = f"a script gives a passphrase by the file descriptor in {FD}"


def run(args: argparse.Namespace) -> int:
    """Verify the archive and write it out."""
    folder = data_folder(args)
    file = Path(args.file).expanduser()
    archive = AgeFile(file, asked("this backup")) if is_age(file) else file
    count = restore(archive, folder, shown_progress)
    if args.json:
        emit_json({"store": str(folder), "files": count})
    else:
        print(f"{folder}: {count} files restored")
    return 0
