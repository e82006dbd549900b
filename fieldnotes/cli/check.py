"""`fieldnotes check`: verifies every record of the store; exit code 1 with findings."""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import data_folder
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.checking import check_store

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """No arguments of its own."""
    parser.epilog = "exit code 0 when clean, 1 with findings"


def run(args: argparse.Namespace) -> int:
    """Check and report."""
    verdict = check_store(Casebook(data_folder(args)))
    if args.json:
        emit_json(msgspec.to_builtins(verdict))
    else:
        for finding in verdict.findings:
            print(f"{finding.place}: {finding.what}")
        print(f"{verdict.entries} entries read, {len(verdict.findings)} findings")
    return 1 if verdict.findings else 0
