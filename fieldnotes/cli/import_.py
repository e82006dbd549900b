"""`fieldnotes import FILE ...`: our own JSON form, or tables (CSV) of owners, premises, horses."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.importing import read_files, unwritten_of, write_imports
from fieldnotes.cli.opening import clock_of, data_folder, file_bytes, open_book
from fieldnotes.cli.sheets import Wanted, read_sheets, write_sheets
from fieldnotes.domain.errors import NoStoreError, RefusedInputError
from fieldnotes.domain.register import Register
from fieldnotes.storage.casebook import create_store
from fieldnotes.storage.handover_file import is_parcel
from fieldnotes.storage.import_checks import check_imports
from fieldnotes.storage.place import is_store
from fieldnotes.storage.sheet_mapping import TABLES
from fieldnotes.storage.sheet_records import refuse_faults

if TYPE_CHECKING:
    import argparse

    from fieldnotes.storage.sheet_records import SheetRead


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the files and the dry run."""
    parser.add_argument(
        "files",
        metavar="FILE",
        nargs="+",
        help=".json (see sample_cases/README.md), .csv tables of owners, premises, horses, "
        "or a colleague's signed handover file",
    )
    parser.add_argument("--dry-run", action="store_true", help="check, write nothing")
    parser.add_argument(
        "--trust", metavar="FINGERPRINT", default="", help="a colleague's new key, once compared"
    )
    tables = parser.add_argument_group("tables (CSV)")
    tables.add_argument("--as", dest="table", choices=TABLES, help="what the one table holds")
    tables.add_argument(
        "--map",
        metavar="FIELD=COLUMN,...",
        action="append",
        default=[],
        help="which column a field stands in; FIELD==WORD means that word in every row",
    )
    tables.add_argument("--encoding", choices=("utf-8", "cp1252"), default="utf-8")
    tables.add_argument(
        "--skip-known", action="store_true", help="leave out rows that are in the register already"
    )


def run(args: argparse.Namespace) -> int:
    """Check every file, then write all of them or none."""
    is_table = [name.casefold().endswith((".csv", ".tsv", ".txt")) for name in args.files]
    texts = {name: file_bytes(name) for name in args.files}
    if any(map(is_parcel, texts.values())):
        return _take_in(args, texts)
    if all(is_table):
        return _import_tables(args, texts)
    if any(is_table):
        raise RefusedInputError("FILE", "tables and .json files are imported one after the other")
    return _import_records(args, texts)


def _import_records(args: argparse.Namespace, texts: dict[str, bytes]) -> int:
    folder, now = data_folder(args), clock_of(args)()
    book = open_book(args) if is_store(folder) else None
    zone = None
    if book is not None and (practice := book.register().practice) is not None:
        zone = practice.zone
    imports = read_files(texts, now, zone)
    check_imports(book.register() if book else Register(), imports)
    unwritten = unwritten_of(imports)
    taken = {i.case for i in imports if i.case} & set(book.state().rows if book else ())
    if taken:
        raise RefusedInputError("case", f"{', '.join(sorted(taken))} is in this store already")
    if not args.dry_run:
        if book is None:
            create_store(folder)
            book = open_book(args)
        write_imports(book, unwritten)
    report = {"files": len(imports), "entries": len(unwritten), "written": not args.dry_run}
    if args.json:
        emit_json(report)
    else:
        done = "checked, nothing written" if args.dry_run else "written"
        print(f"{report['files']} files, {report['entries']} entries {done}")
    return 0


def _take_in(args: argparse.Namespace, texts: dict[str, bytes]) -> int:
    """Verify signed handover files, each before anything is written, then take them in."""
    book, now = open_book(args), clock_of(args)()
    found = [book.handovers.read(d, Path(name).name, args.trust) for name, d in texts.items()]
    people = book.register().people
    for name, data in texts.items() if not args.dry_run else ():
        # read again: a file before it may have brought the same horse or the same entries
        arrival = book.handovers.read(data, Path(name).name, args.trust)
        book.handovers.take_in(arrival, next(iter(people), ""), now)
    if args.json:
        heads = [(a, a.parcel.header) for a in found]
        emit_json([
            {"case": h.case, "from": h.by, "practice": h.practice, "fingerprint": a.fingerprint,
             "entries": len(a.entries), "known": a.known, "written": not args.dry_run}
            for a, h in heads
        ])  # fmt: skip
        return 0
    for arrival in found:
        print(arrival.words)
    new = any(arrival.count for arrival in found)
    done = "written" if new else "nothing new, nothing written"
    print("checked, nothing written" if args.dry_run else done)
    return 0


def _mapping(texts: list[str]) -> dict[str, str]:
    mapping = {}
    for part in (part for text in texts for part in text.split(",") if part.strip()):
        field, sign, column = part.partition("=")
        if not sign:
            raise RefusedInputError("--map", f"{part!r} is not FIELD=COLUMN")
        mapping[field.strip()] = column.strip()
    return mapping


def _import_tables(args: argparse.Namespace, texts: dict[str, bytes]) -> int:
    book = open_book(args)
    register = book.register()
    if register.practice is None:
        raise NoStoreError("set up the practice first; then its owners can be imported")
    if args.table and len(texts) > 1:
        raise RefusedInputError("--as", "says what one table holds; import them one by one")
    now = clock_of(args)()
    wanted = Wanted(args.table or "", _mapping(args.map), args.encoding)
    reads = read_sheets(texts, register, now.date(), wanted)
    if not args.json:
        for read in reads:
            print(_mapping_words(read))
    refuse_faults(reads, skip_known=args.skip_known)
    if not args.dry_run:
        write_sheets(book, reads, next(iter(register.people), ""), now)
    if args.json:
        emit_json({"written": not args.dry_run, "tables": [_document(read) for read in reads]})
        return 0
    for read in reads:
        left = f", {len(read.known)} left out as known" if read.known else ""
        done = "checked, nothing written" if args.dry_run else "written"
        print(f"{read.name}: {len(read.bodies)} {read.table} {done}{left}")
    return 0


def _mapping_words(read: SheetRead) -> str:
    pairs = ", ".join(f"{field}={column}" for field, column in read.mapping.items())
    return f"{read.name} as {read.table}: --map {pairs}"


def _document(read: SheetRead) -> dict[str, Any]:
    return {
        "file": read.name,
        "table": read.table,
        "mapping": dict(read.mapping),
        "records": len(read.bodies),
        "known": list(read.known),
    }
