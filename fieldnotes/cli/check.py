"""`fieldnotes check [--mend]`: verifies every record of the store; exit code 1 with findings."""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec

from fieldnotes.cli.command import emit_json, say
from fieldnotes.cli.opening import data_folder
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.checking import check_store
from fieldnotes.storage.mending import mend

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the mending."""
    parser.add_argument(
        "--mend",
        action="store_true",
        help="first put back what is damaged or missing from the sealed archives",
    )
    parser.epilog = "exit code 0 when clean, 1 with findings"


def run(args: argparse.Namespace) -> int:
    """Mend if asked to, then check and report."""
    book = Casebook(data_folder(args), read_only=args.read_only)
    mended = mend(book) if args.mend else ()
    verdict = check_store(book)
    if args.json:
        emit_json({**msgspec.to_builtins(verdict), "mended": msgspec.to_builtins(mended)})
    else:
        for done in mended:
            say(f"{done.place}: {done.what}")
        for finding in verdict.findings:
            print(f"{finding.place}: {finding.what}")
        purged = f", {verdict.purged} purged" if verdict.purged else ""
        print(f"{verdict.entries} entries read{purged}, {len(verdict.findings)} findings")
        if verdict.findings and not args.mend:
            say("'fieldnotes check --mend' puts back what was sealed")
    return 1 if verdict.findings else 0
