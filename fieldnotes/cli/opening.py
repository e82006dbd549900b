"""Joins the store, the knowledge and the clock into one desk for a command."""

from __future__ import annotations

import datetime as dt
import sys
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from fieldnotes.cli.command import shown_progress
from fieldnotes.domain.errors import RefusedInputError, StoreError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from fieldnotes.casework.desk import Casework
    from fieldnotes.storage.casebook import Casebook

SEALED_AT_ONCE = 2000  # files; more wait for the app's next start, where nobody waits for them


def data_folder(args: argparse.Namespace) -> Path:
    """Give the store's folder: as named, else where the platform keeps a user's data."""
    if args.data:
        return Path(args.data).expanduser()
    from platformdirs import user_data_path  # noqa: PLC0415

    return user_data_path("fieldnotes", appauthor=False)


def clock_of(args: argparse.Namespace) -> Callable[[], dt.datetime]:
    """Give the clock: the fixed moment of `--now`, else the machine's."""
    if not args.now:
        return lambda: dt.datetime.now(dt.UTC)
    fixed = moment(args.now, "--now")
    return lambda: fixed


def moment(text: str, field: str) -> dt.datetime:
    """Read an ISO 8601 date or date-time; without an offset it is local time."""
    try:
        parsed = dt.datetime.fromisoformat(text)
    except ValueError as error:
        raise RefusedInputError(field, f"'{text}' is not an ISO 8601 date or time") from error
    return parsed.astimezone() if parsed.tzinfo is None else parsed


def day(text: str | None, field: str = "--date") -> dt.date | None:
    """Read an ISO date, None for none."""
    if text is None:
        return None
    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        raise RefusedInputError(field, f"'{text}' is not a date like 2026-03-02") from error


def open_book(args: argparse.Namespace) -> Casebook:
    """Give the store the arguments name; what a command writes in it is sealed after it."""
    from fieldnotes.storage.casebook import Casebook  # noqa: PLC0415  (the app opens its own, later)

    args.book = book = Casebook(data_folder(args), read_only=args.read_only)
    book.progress = partial(shown_progress, words="making the index anew ")
    return book


def seal_the_day(args: argparse.Namespace) -> None:
    """Seal what is new after the first command of a day that wrote, if that is quick."""
    from fieldnotes.storage.archives import Archives  # noqa: PLC0415  (only after a write)

    with suppress(StoreError), args.book.writing():  # the command itself is done
        archives = Archives(args.book.folder, args.book.files)
        archives.seal_once_a_day(clock_of(args)(), SEALED_AT_ONCE)


def open_desk(args: argparse.Namespace) -> Casework:
    """Give the desk over the store the arguments name; NoStoreError says what to do."""
    from fieldnotes.casework.desk import Casework  # noqa: PLC0415  (the app opens its own, later)
    from fieldnotes.cli.carrier import MailCarrier  # noqa: PLC0415  (likewise)
    from fieldnotes.storage.outbox import Outbox  # noqa: PLC0415  (likewise)
    from fieldnotes.storage.surroundings import warnings  # noqa: PLC0415  (likewise)

    book = open_book(args)
    outbox = Outbox(book.folder, read_only=args.read_only, writing=book.writing)
    desk = Casework(book, clock_of(args), mail=outbox, carrier=MailCarrier())
    args.problems = desk.problems
    args.warnings = lambda: warnings(book, desk.now())
    desk.practice()
    return desk


def file_bytes(name: str) -> bytes:
    """Give the bytes of a file the arguments name."""
    try:
        return Path(name).expanduser().read_bytes()
    except OSError as error:
        raise RefusedInputError("FILE", f"{name}: {error.strerror}") from error


def write_out(data: bytes, output: str | None) -> None:
    """Put a document in a file, or on stdout byte for byte."""
    if output is None:
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    try:
        Path(output).expanduser().write_bytes(data)
    except OSError as error:
        raise RefusedInputError("--output", f"{output}: {error.strerror}") from error
