"""`fieldnotes export`: everything as one JSON document, or the case list as CSV."""

from __future__ import annotations

import csv
import io
import json
from typing import TYPE_CHECKING, Any

import msgspec

from fieldnotes.cli.case import case_document, summary_document
from fieldnotes.cli.opening import open_desk, write_out

if TYPE_CHECKING:
    import argparse

    from fieldnotes.casework.desk import Casework

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\0")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the format and where to put it."""
    parser.add_argument("--format", choices=("json", "csv"), default="json")
    parser.add_argument("--output", metavar="FILE", help="write here (default stdout)")


def run(args: argparse.Namespace) -> int:
    """Write the export."""
    desk = open_desk(args)
    write_out(_csv(desk) if args.format == "csv" else _json(desk), args.output)
    return 0


def _json(desk: Casework) -> bytes:
    def whole(ref: str) -> dict[str, Any]:
        return case_document(desk.file(ref), desk.documents(ref))

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
