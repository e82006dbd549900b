"""`fieldnotes purge [--delete] [REF ...]`: closed cases past their retention time; shows first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json, say
from fieldnotes.cli.opening import clock_of, open_book
from fieldnotes.cli.text import columns
from fieldnotes.storage.retention import purge, purgeable, reckoned_day, retained, retention_years
from fieldnotes.storage.surroundings import warnings

if TYPE_CHECKING:
    import argparse

    from fieldnotes.storage.retention import Kept


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare which cases, and whether they are to go."""
    parser.add_argument("refs", metavar="REF", nargs="*", help="only these (default: all past it)")
    parser.add_argument(
        "--delete", action="store_true", help="delete them; without it nothing is changed"
    )


def run(args: argparse.Namespace) -> int:
    """Show what may go, or delete it and leave a tombstone each."""
    book, now = open_book(args), clock_of(args)()
    args.warnings = lambda: warnings(book, now)
    today = reckoned_day(book, now.date())
    found = [retained(book, ref) for ref in args.refs] or list(purgeable(book, today))
    if args.delete:
        author = next(iter(book.register().people), "")
        purge(book, [kept.case for kept in found], author, now)
    if args.json:
        emit_json([_document(kept, deleted=args.delete) for kept in found])
        return 0
    rows = [
        (
            kept.case,
            kept.status.value,
            f"{kept.last:%Y-%m-%d}",
            str(kept.entries),
            "deleted"
            if args.delete
            else ("may go" if kept.may_go(today) else f"until {kept.until}"),
        )
        for kept in found
    ]
    if rows:
        print(columns(("case", "status", "last entry", "entries", ""), rows))
    else:
        print(f"no closed case is older than {retention_years(book)} years")
    if rows and not args.delete:
        say("nothing was deleted; --delete deletes, and writes a tombstone for each")
    if rows and args.delete:
        say("copies in backups made elsewhere are not touched")
    return 0


def _document(kept: Kept, *, deleted: bool) -> dict[str, object]:
    return {
        "case": kept.case,
        "status": kept.status.value,
        "last": kept.last.isoformat(),
        "kept_until": kept.until.isoformat(),
        "entries": kept.entries,
        "deleted": deleted,
    }
