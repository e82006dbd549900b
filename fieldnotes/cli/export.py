"""`fieldnotes export`: everything as JSON, as a ZIP with the pictures, or as CSV tables."""

from __future__ import annotations

import hashlib
import io
import json
import sys
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from fieldnotes.cli.case import case_document
from fieldnotes.cli.export_tables import NAMES, tables
from fieldnotes.cli.opening import open_desk, write_out
from fieldnotes.cli.photo import photo_document
from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterable, Iterator

    from fieldnotes.casework.album import Photo
    from fieldnotes.casework.desk import Casework

SUMS = "SHA256SUMS"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the format and where to put it."""
    parser.add_argument(
        "--format", choices=("json", "zip", "csv"), default="json",
        help="everything as JSON; zip: with the photographs; csv: as tables in a ZIP",
    )  # fmt: skip
    parser.add_argument(
        "--table", choices=NAMES, metavar="NAME", help=f"one table as CSV: {', '.join(NAMES)}"
    )
    parser.add_argument(
        "--output", metavar="FILE", help="write here, tables also into a folder (default stdout)"
    )


def run(args: argparse.Namespace) -> int:
    """Write the export."""
    desk = open_desk(args)
    if args.table:
        [(_, data)] = tables(desk, args.table)
        write_out(data, args.output)
        return 0
    if args.format == "csv" and args.output and Path(args.output).expanduser().is_dir():
        for name, data in _table_files(desk):
            write_out(data, str(Path(args.output) / name))
        return 0
    if args.format != "json" and args.output is None and sys.stdout.isatty():
        raise RefusedInputError("--output", "a ZIP is not for a screen: name a file")
    members = {"zip": _members, "csv": _table_files}.get(args.format)
    write_out(_zip(desk, members(desk)) if members else _json(desk), args.output)
    return 0


def _table_files(desk: Casework) -> Iterator[tuple[str, bytes]]:
    return ((f"{name}.csv", data) for name, data in tables(desk))


def _zip(desk: Casework, members: Iterable[tuple[str, bytes]]) -> bytes:
    """Give a ZIP of some files, with the hashes of all."""
    out, sums = io.BytesIO(), []
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for name, data in members:
            archive.writestr(zipfile.ZipInfo(name, _stamp(desk)), data)
            sums.append(f"{hashlib.sha256(data).hexdigest()}  {name}\n")
        archive.writestr(zipfile.ZipInfo(SUMS, _stamp(desk)), "".join(sums))
    return out.getvalue()


def _stamp(desk: Casework) -> tuple[int, int, int, int, int, int]:
    now = desk.now()
    return now.year, now.month, now.day, now.hour, now.minute, now.second


def _members(desk: Casework) -> Iterator[tuple[str, bytes]]:
    """Give the records and each photograph as kept; one gone or altered joins the problems."""
    yield "records.json", _json(desk)

    found = desk.readable(desk.album.list, (s.ref for s in desk.find_cases()))
    photos = {photo.entry: photo for several in found for photo in several}

    def held(entry: str) -> tuple[str, bytes]:
        photo = photos[entry]
        return picture_path(photo), desk.album.bytes(photo.case, entry)

    yield from desk.readable(held, photos)


def picture_path(photo: Photo) -> str:
    """Give where a photograph lies in the ZIP."""
    return f"pictures/{photo.case}/{photo.file_name}"


def _json(desk: Casework) -> bytes:
    def whole(ref: str) -> dict[str, Any]:
        document = case_document(desk.file(ref), desk.documents(ref))
        photos = desk.album.list(ref)
        document["photographs"] = [{**photo_document(p), "file": picture_path(p)} for p in photos]
        return document

    document = {
        "format": "fieldnotes-export",
        "register": msgspec.to_builtins(desk.register()),
        "cases": list(desk.readable(whole, (s.ref for s in desk.find_cases()))),
    }
    return (json.dumps(document, ensure_ascii=False, indent=1) + "\n").encode("utf-8")
