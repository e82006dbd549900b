"""`fieldnotes reckon readability`: the reading grade of a text or of given counts."""

from __future__ import annotations

import dataclasses
import sys
from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.reckon.files import read_text
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.text import clean
from fieldnotes.rendering.readability import Reading, grade, grade_counts
from fieldnotes.rendering.syllables import COUNTING

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("file", nargs="?", metavar="FILE", help="markdown or plain text")
    parser.add_argument("--counts", metavar="WORDS,SENTENCES,SYLLABLES,POLYSYLLABLES")
    parser.add_argument("--without-tables", action="store_true", help="leave tables out")


def _reading(args: argparse.Namespace) -> Reading:
    if (args.file is None) == (args.counts is None):
        raise RefusedInputError("", "give FILE or --counts")
    if args.file is not None:
        return grade(clean(read_text(args.file)), without_tables=args.without_tables)
    try:
        words, sentences, syllables, polysyllables = map(int, args.counts.split(","))
    except ValueError:
        raise RefusedInputError(
            "--counts", "four whole numbers: words,sentences,syllables,polysyllables"
        ) from None
    return grade_counts(words, sentences, syllables, polysyllables)


def run(args: argparse.Namespace) -> int:
    """Print the counts and grades."""
    reading = _reading(args)
    if args.json:
        emit_json({**dataclasses.asdict(reading), "counting": COUNTING})
        return 0
    lines = [
        f"{reading.words} words, {reading.sentences} sentences, {reading.syllables} syllables",
        f"Flesch-Kincaid grade {reading.flesch_kincaid_grade:.1f}: {reading.verdict}",
        f"Flesch reading ease {reading.flesch_reading_ease:.1f}, SMOG {reading.smog:.1f}",
        *(f"hard: {sentence}" for sentence in reading.hardest),
    ]
    sys.stdout.write("\n".join(lines) + "\n")
    return 0
