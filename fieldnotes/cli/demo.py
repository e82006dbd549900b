"""`fieldnotes demo`: a fresh copy of the sample practice, dated so that today has a full round."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from fieldnotes.cli.importing import read_files, unwritten_of, write_imports
from fieldnotes.cli.opening import clock_of
from fieldnotes.domain.entries import PracticeSet
from fieldnotes.resources import root
from fieldnotes.storage.casebook import Casebook, create_store

if TYPE_CHECKING:
    import argparse
    import datetime as dt

    from fieldnotes.domain.entries import Body


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare where to and whether to open it."""
    parser.add_argument("--dir", metavar="DIR", help="make the store here (must not hold anything)")
    parser.add_argument("--no-open", action="store_true", help="print the store's path and stop")


def run(args: argparse.Namespace) -> int:
    """Make the store, print its path, and open it unless told not to."""
    now = clock_of(args)()
    folder = Path(args.dir).expanduser() if args.dir else new_folder(now)
    make_demo(folder, now)
    print(folder, flush=True)
    if args.no_open:
        return 0
    from fieldnotes.cli.app import open_app  # noqa: PLC0415  (Textual is slow to import)

    args.data = str(folder)
    return open_app(args)


def new_folder(now: dt.datetime) -> Path:
    """Give a folder in the cache not used yet."""
    from platformdirs import user_cache_path  # noqa: PLC0415

    cache = user_cache_path("fieldnotes", appauthor=False) / "demo"
    stamp = f"{now.astimezone():%Y%m%d-%H%M%S}"
    folder, number = cache / stamp, 1
    while folder.exists():
        folder, number = cache / f"{stamp}-{number}", number + 1
    return folder


def make_demo(folder: Path, now: dt.datetime) -> None:
    """Write the sample practice as real entries; StoreError if the folder holds anything."""
    samples = root("sample_cases")
    texts = {p.name: p.read_bytes() for p in samples.iterdir() if p.name.endswith(".json")}
    unwritten = unwritten_of(read_files(texts, now, None))
    create_store(folder)
    book = Casebook(folder)
    # Shortly after midnight what the samples tell of the small hours has just been written down.
    write_imports(
        book,
        [replace(i, time=min(i.time, now), body=_on_duty(i.body, now)) for i in unwritten],
    )
    book.hold()
    book.close()


def _on_duty(body: Body, now: dt.datetime) -> Body:
    """Make today a working day of the sample practice, whatever the weekday."""
    if not isinstance(body, PracticeSet):
        return body
    practice = body.practice
    weekday = now.astimezone(ZoneInfo(practice.zone)).weekday()
    days = tuple(sorted({*practice.working_days, weekday}))
    return PracticeSet(replace(practice, working_days=days, days_off=()))
