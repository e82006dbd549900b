"""`fieldnotes photo add | list | export`: photographs of a case."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldnotes.cli.command import emit_json, say
from fieldnotes.cli.opening import open_desk
from fieldnotes.cli.text import columns
from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    import argparse

    from fieldnotes.casework.album import Photo
    from fieldnotes.casework.desk import Casework


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare add, list and export."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="add|list|export")
    add = actions.add_parser("add", help="copy pictures into a case (JPEG, PNG, WebP)")
    add.add_argument("ref", metavar="REF")
    add.add_argument("files", metavar="FILE", nargs="+")
    add.add_argument("--wound", default="", metavar="A", help="the wound it shows")
    add.add_argument("--caption", default="", help="what it shows")
    add.add_argument("--keep-position", action="store_true", help="keep where it was taken")
    listing = actions.add_parser("list", help="a case's photographs, oldest first")
    listing.add_argument("ref", metavar="REF")
    export = actions.add_parser("export", help="write photographs into a folder")
    export.add_argument("ref", metavar="REF", nargs="?", help="one case (default: all)")
    export.add_argument("--photo", default="", metavar="ID", help="one only, by its entry's id")
    export.add_argument("--output", default=".", metavar="DIR", help="the folder (default here)")


def run(args: argparse.Namespace) -> int:
    """Carry out add, list or export."""
    actions = {"add": _add, "list": _list, "export": _export}
    return actions[args.action](args)


def _add(args: argparse.Namespace) -> int:
    """Add each file; one that is refused is named and keeps none of the others out."""
    desk = open_desk(args)
    added, refused = [], 0
    for file in args.files:
        try:
            saved = desk.album.add(
                args.ref, file, args.wound, args.caption, keep_position=args.keep_position
            )
        except RefusedInputError as error:
            say(f"fieldnotes: {Path(file).name}: {error.reason}")
            refused += 1
        else:
            added.append(saved.entries[0])
    if args.json:
        emit_json({"added": added, "refused": refused})
    elif added:
        print("\n".join(added))
    return 1 if refused else 0


def photo_document(photo: Photo) -> dict[str, Any]:
    """Give a photograph as JSON holds it."""
    picture = photo.picture
    return {
        "id": photo.entry,
        "case": photo.case,
        "wound": picture.wound or None,
        "caption": picture.caption,
        "taken_at": picture.taken_at.isoformat() if picture.taken_at else None,
        "added_at": photo.added_at.isoformat(),
        "by": photo.by,
        "format": picture.format.value,
        "width_px": picture.width_px,
        "height_px": picture.height_px,
        "position_kept": picture.position_kept,
        "sha256": picture.sha256,
        "original_sha256": picture.original_sha256,
    }


def _list(args: argparse.Namespace) -> int:
    photos = open_desk(args).album.list(args.ref)
    if args.json:
        emit_json([photo_document(photo) for photo in photos])
        return 0
    rows = [
        (
            photo.entry,
            f"{photo.when:%d %b %Y %H:%M}",
            photo.picture.wound,
            f"{photo.picture.width_px} x {photo.picture.height_px} {photo.picture.format.value}",
            photo.picture.caption,
        )
        for photo in photos
    ]
    heads = ("photograph", "taken", "wound", "pixels", "caption")
    print(columns(heads, rows) if rows else "No photographs.")
    return 0


def _cases(desk: Casework, ref: str | None) -> tuple[str, ...]:
    return (ref,) if ref else tuple(summary.ref for summary in desk.find_cases())


def _export(args: argparse.Namespace) -> int:
    desk = open_desk(args)
    written = [
        path
        for ref in _cases(desk, args.ref)
        for path in desk.album.give_out(ref, args.output, args.photo)
    ]
    if args.json:
        emit_json({"files": written})
    else:
        print("\n".join(written) if written else "No photographs.")
    return 0
