"""`fieldnotes reckon age`: the class of a wound by its age, and what it means for closing it."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import moment
from fieldnotes.clinical.reckoned_text import CAUTION
from fieldnotes.clinical.wound_age import age_class, closure_by_time, hours_between
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.knowledge.wound_ages import load_wound_ages

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the age in hours, or the two moments it lies between."""
    parser.add_argument("--hours", type=float, metavar="H", help="hours since the injury")
    parser.add_argument("--injured", metavar="ISO-8601", help="when it happened")
    parser.add_argument("--seen", metavar="ISO-8601", help="when it was first seen")
    parser.add_argument("--granulating", action="store_true", help="granulation is seen")


def _hours(args: argparse.Namespace) -> float:
    if args.hours is not None and not args.injured and not args.seen:
        return float(args.hours)
    if args.hours is not None or not (args.injured and args.seen):
        raise RefusedInputError("--hours", "give it, or --injured and --seen")
    return hours_between(moment(args.injured, "--injured"), moment(args.seen, "--seen"))


def run(args: argparse.Namespace) -> int:
    """Print the class, what it means, and what a closure now would be called."""
    ages, hours = load_wound_ages(), _hours(args)
    found = age_class(hours, ages)
    closure = closure_by_time(hours, ages, granulating=args.granulating)
    if args.json:
        emit_json(
            {
                "hours": hours,
                "class": found.number,
                "means": found.means,
                "advice": found.advice,
                "closure_now": closure.value,
                "source": found.source,
            }
        )
        return 0
    lines = (
        f"{hours:g} h: class {found.number}, {found.means}",
        f"  {found.advice}",
        f"  a closure now would be called {closure}",
        f"  source: {found.source}",
        CAUTION,
    )
    sys.stdout.write("\n".join(lines) + "\n")
    return 0
