"""`fieldnotes export`: everything as one JSON document, with the pictures as a ZIP, or as CSV."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import sys
import zipfile
from typing import TYPE_CHECKING, Any

import msgspec

from fieldnotes.cli.case import case_document, summary_document
from fieldnotes.cli.opening import open_desk, write_out
from fieldnotes.cli.photo import photo_document
from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    from fieldnotes.casework.album import Photo
    from fieldnotes.casework.desk import Casework

SUMS = "SHA256SUMS"
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\0")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the format and where to put it."""
    parser.add_argument(
        "--format", choices=("json", "zip", "csv"), default="json",
        help="everything as JSON; zip: with the photographs; csv: the case list",
    )  # fmt: skip
    parser.add_argument("--output", metavar="FILE", help="write here (default stdout)")


def run(args: argparse.Namespace) -> int:
    """Write the export."""
    desk = open_desk(args)
    if args.format == "zip" and args.output is None and sys.stdout.isatty():
        raise RefusedInputError("--output", "a ZIP is not for a screen: name a file")
    make = {"json": _json, "zip": _zip, "csv": _csv}[args.format]
    write_out(make(desk), args.output)
    return 0


def _zip(desk: Casework) -> bytes:
    """Give the JSON document and every photograph as it is kept, with the hashes of all."""
    out, sums = io.BytesIO(), []
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for name, data in _members(desk):
            archive.writestr(zipfile.ZipInfo(name, _stamp(desk)), data)
            sums.append(f"{hashlib.sha256(data).hexdigest()}  {name}\n")
        archive.writestr(zipfile.ZipInfo(SUMS, _stamp(desk)), "".join(sums))
    return out.getvalue()


def _stamp(desk: Casework) -> tuple[int, int, int, int, int, int]:
    now = desk.now()
    return now.year, now.month, now.day, now.hour, now.minute, now.second


def _members(desk: Casework) -> Iterator[tuple[str, bytes]]:
    """Give the files of the ZIP; a picture that is gone or altered joins the problems instead."""
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


def defused(cell: str) -> str:
    """Give a cell that no spreadsheet runs as a formula."""
    return f"'{cell}" if cell.startswith(FORMULA_STARTS) else cell


def _csv(desk: Casework) -> bytes:
    heads = ("ref", "horse", "owner", "premises", "opened", "status", "wounds")
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(heads)
    for summary in desk.find_cases():
        row = summary_document(summary)
        row["wounds"] = "; ".join(f"{w['label']} {w['region']}" for w in row["wounds"])
        writer.writerow([defused(str(row[head])) for head in heads])
    return out.getvalue().encode("utf-8")
