"""`fieldnotes backup [FILE]`: one verified archive of the store."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json, shown_progress
from fieldnotes.cli.opening import clock_of, data_folder
from fieldnotes.cli.passphrase import NEW_FD, asked_twice
from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.backup import back_up
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.surroundings import note_backup
from fieldnotes.storage.vault import fit_passphrase

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the archive's name."""
    parser.add_argument("file", metavar="FILE", nargs="?", help="the archive to write (.zip)")
    parser.add_argument(
        "--passphrase",
        action="store_true",
        help="ask for a passphrase and write the archive in the age format (.zip.age)",
    )
    parser.epilog = f"a script gives the passphrase by the file descriptor in {NEW_FD}"


def run(args: argparse.Namespace) -> int:
    """Write the archive and read it back. Entries never change, so no lock is needed."""
    book, now = Casebook(data_folder(args), read_only=True), clock_of(args)()
    ending = "zip.age" if args.passphrase else "zip"
    name = args.file or f"fieldnotes-{now.astimezone():%Y%m%d-%H%M%S}.{ending}"
    archive = Path(name).expanduser()
    wanted = args.passphrase or name.endswith(".age")
    words = fit_passphrase(asked_twice("this backup")) if wanted else ""
    count = back_up(book.folder, archive.resolve(), now, shown_progress, words)
    with suppress(StoreError):  # the archive is made; a store on a read-only disk keeps no note
        note_backup(book.folder, archive.resolve(), now)
    if args.json:
        emit_json({"archive": str(archive), "files": count})
    else:
        print(f"{archive}: {count} files, read back and verified")
    return 0
