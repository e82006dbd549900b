"""`fieldnotes demo`: a fresh copy of the sample practice, dated so that today has a full round."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from fieldnotes.cli.opening import clock_of
from fieldnotes.domain.entries import REGISTER, PracticeSet
from fieldnotes.resources import sample_files
from fieldnotes.storage.casebook import Casebook, Unwritten, create_store
from fieldnotes.storage.importing import read_import, zone_of

if TYPE_CHECKING:
    import argparse

    from fieldnotes.domain.entries import Body


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare where to and whether to open it."""
    parser.add_argument("--dir", metavar="DIR", help="make the store here (must not hold anything)")
    parser.add_argument("--no-open", action="store_true", help="print the store's path and stop")


def run(args: argparse.Namespace) -> int:
    """Make the store, print its path, and open it unless told not to."""
    folder = Path(args.dir).expanduser() if args.dir else _new_folder(clock_of(args)())
    make_demo(folder, clock_of(args)())
    print(folder, flush=True)
    if args.no_open:
        return 0
    from fieldnotes.cli.app import open_app  # noqa: PLC0415  (Textual is slow to import)

    args.data = str(folder)
    return open_app(args)


def _new_folder(now: dt.datetime) -> Path:
    from platformdirs import user_cache_path  # noqa: PLC0415

    cache = user_cache_path("fieldnotes", appauthor=False) / "demo"
    stamp = f"{now.astimezone():%Y%m%d-%H%M%S}"
    folder, number = cache / stamp, 1
    while folder.exists():
        folder, number = cache / f"{stamp}-{number}", number + 1
    return folder
