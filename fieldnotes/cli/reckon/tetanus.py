"""`fieldnotes reckon tetanus`: toxoid, antitoxin and next dose after a wound."""

from __future__ import annotations

import datetime as dt
import sys
from typing import TYPE_CHECKING, Any

from fieldnotes.cli.command import emit_json
from fieldnotes.clinical.reckoned_text import CAUTION, tetanus_lines
from fieldnotes.clinical.tetanus import Span, TetanusDecision, tetanus_decision
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.knowledge.tetanus import load_tetanus

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments; neither --last nor --never means unknown."""
    parser.add_argument("--wounded", required=True, metavar="D", help="date of the wound")
    parser.add_argument("--last", metavar="D", help="last toxoid dose")
    parser.add_argument("--never", action="store_true", help="never vaccinated")
    parser.add_argument("--begun", action="store_true", help="the last dose was a course's first")
    parser.add_argument("--rule-months", type=int, default=6, metavar="6|12")


def _date(argument: str, text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        raise RefusedInputError(argument, f"'{text}' is no date such as 2026-11-25") from error


def _span(span: Span | None) -> list[str] | None:
    return None if span is None else [d.isoformat() for d in span]


def _document(decision: TetanusDecision) -> dict[str, Any]:
    repeat = decision.antitoxin_repeat
    return {
        "toxoid": decision.toxoid,
        "antitoxin_units": decision.antitoxin_units,
        "next_dose": _span(decision.next_dose),
        "antitoxin_cover_ends": _span(decision.antitoxin_cover),
        "antitoxin_repeat_if_high_risk": repeat.isoformat() if repeat else None,
        "why": decision.why,
        "source": decision.source,
    }


def run(args: argparse.Namespace) -> int:
    """Print the decision."""
    wounded = _date("--wounded", args.wounded)
    last = None if args.last is None else _date("--last", args.last)
    try:
        decision = tetanus_decision(
            load_tetanus(), wounded, last, args.rule_months, never=args.never, begun=args.begun
        )
    except RefusedInputError as error:
        raise RefusedInputError(f"--{error.field}", error.reason) from error
    if args.json:
        emit_json(_document(decision))
    else:
        sys.stdout.write("\n".join((*tetanus_lines(decision), CAUTION)) + "\n")
    return 0
