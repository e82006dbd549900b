"""`fieldnotes reckon note TEXT`: what a note in one line is read as, before any form takes it."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json
from fieldnotes.clinical.one_line import NoteReader
from fieldnotes.knowledge.drugs import load_drugs
from fieldnotes.knowledge.limits import load_limits
from fieldnotes.knowledge.regions import load_regions
from fieldnotes.knowledge.shorthand import load_shorthand

if TYPE_CHECKING:
    import argparse

    from fieldnotes.clinical.one_line_found import OneLine


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("text", metavar="TEXT", help="the note, as one would say it")


def _document(note: OneLine) -> dict[str, object]:
    return {
        "fields": {s.field: s.value for s in note.said},
        "given": [
            {"drug": g.drug, "amount": g.amount, "unit": g.unit, "route": g.route}
            for g in note.given
        ],
        "words": {s.field: s.words for s in note.said},
        "guesses": [s.field for s in note.said if s.guess],
        "unsure": {u.field: {"options": u.options, "words": u.words} for u in note.unsure},
        "rest": list(note.rest),
    }


def _shown(value: object) -> str:
    return ", ".join(map(str, value)) if isinstance(value, tuple) else f"{value}"


def _lines(note: OneLine) -> list[str]:
    rows = [
        f"{'?' if s.guess else ' '} {s.field:<18} {_shown(s.value):<28} {s.words}"
        for s in note.said
    ]
    rows += [f"  {'given':<18} {g.drug:<28} {g.words}" for g in note.given]
    for unsure in note.unsure:
        rows.append(f"! {unsure.field:<18} which? {unsure.words}")
        rows += [f"      {option}" for option in unsure.options[:12]]
    rows += [f"  {'kept as text':<18} {text}" for text in note.rest]
    return rows or ["nothing to read"]


def run(args: argparse.Namespace) -> int:
    """Print what the note is read as."""
    drugs = {d.id: d.name for d in load_drugs()}
    note = NoteReader(load_shorthand(), load_regions(), load_limits(), drugs).read(args.text)
    if args.json:
        emit_json(_document(note))
    else:
        sys.stdout.write("\n".join(_lines(note)) + "\n")
    return 0
