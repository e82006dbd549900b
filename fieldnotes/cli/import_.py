"""`fieldnotes import FILE ...`: register and cases in our own JSON form; all or nothing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.importing import read_files, unwritten_of, write_imports
from fieldnotes.cli.opening import clock_of, data_folder
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.register import Register
from fieldnotes.storage.card import is_store
from fieldnotes.storage.casebook import Casebook, create_store
from fieldnotes.storage.import_checks import check_imports

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the files and the dry run."""
    parser.add_argument("files", metavar="FILE", nargs="+", help="see sample_cases/README.md")
    parser.add_argument("--dry-run", action="store_true", help="check, write nothing")


def run(args: argparse.Namespace) -> int:
    """Check every file, then write all of them or none."""
    folder, now = data_folder(args), clock_of(args)()
    book = Casebook(folder) if is_store(folder) else None
    zone = None
    if book is not None and (practice := book.register().practice) is not None:
        zone = practice.zone
    texts = {name: _bytes(name) for name in args.files}
    imports = read_files(texts, now, zone)
    check_imports(book.register() if book else Register(), imports)
    unwritten = unwritten_of(imports)
    taken = {i.case for i in imports if i.case} & set(book.state().rows if book else ())
    if taken:
        raise RefusedInputError("case", f"{', '.join(sorted(taken))} is in this store already")
    if not args.dry_run:
        if book is None:
            create_store(folder)
            book = Casebook(folder)
        write_imports(book, unwritten)
    report = {"files": len(imports), "entries": len(unwritten), "written": not args.dry_run}
    if args.json:
        emit_json(report)
    else:
        done = "checked, nothing written" if args.dry_run else "written"
        print(f"{report['files']} files, {report['entries']} entries {done}")
    return 0


def _bytes(name: str) -> bytes:
    try:
        return Path(name).expanduser().read_bytes()
    except OSError as error:
        raise RefusedInputError("FILE", f"{name}: {error.strerror}") from error
