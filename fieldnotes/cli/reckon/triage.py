"""`fieldnotes reckon triage SIGN ...`: how soon an owner's report must be seen, and why."""

from __future__ import annotations

import datetime as dt
import sys
from typing import TYPE_CHECKING, Any

from fieldnotes.cli.command import emit_json
from fieldnotes.clinical.reckoned_text import CAUTION, triage_lines
from fieldnotes.clinical.triage import Report, Triage, triage, typed_limits
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.domain.patients import Species
from fieldnotes.knowledge.drugs import load_drugs, one_drug
from fieldnotes.knowledge.limits import load_limits
from fieldnotes.knowledge.triage import TriageTables, load_triage

if TYPE_CHECKING:
    import argparse

_REPORTED = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)  # only what lies between two times counts
GAIT = {"normal": True, "not-normal": False}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments; without a sign the signs are listed in the refusal."""
    parser.add_argument("signs", nargs="*", metavar="SIGN", help='e.g. bleeding "much more lame"')
    parser.add_argument("--unclear", action="append", default=[], metavar="SIGN",
                        help="a sign the owner could not tell of; may be repeated")  # fmt: skip
    parser.add_argument("--temperature-c", type=float, metavar="C")
    parser.add_argument("--normal-up-to-c", type=float, metavar="C",
                        help="highest normal temperature, where the vet knows it")  # fmt: skip
    parser.add_argument("--gait", choices=tuple(GAIT), help="leave it out if it is not known")
    parser.add_argument("--last-nsaid-h", type=float, metavar="H",
                        help="hours since the last anti-inflammatory, by anyone")  # fmt: skip
    parser.add_argument("--nsaid", metavar="NAME", help="which one, by any part of its name")
    parser.add_argument("--species", default=Species.HORSE.value, choices=tuple(Species))
    parser.add_argument("--age-days", type=int, metavar="A", help="foals differ")


def _last_nsaid(args: argparse.Namespace) -> tuple[dt.datetime | None, str]:
    if args.last_nsaid_h is None:
        if args.nsaid:
            raise RefusedInputError("--nsaid", "give --last-nsaid-h as well")
        return None, ""
    if not 0 <= args.last_nsaid_h <= 24 * 366:
        raise RefusedInputError("--last-nsaid-h", f"{args.last_nsaid_h:g} hours cannot be")
    drug = one_drug(load_drugs(mention=args.nsaid), args.nsaid, "--nsaid").id if args.nsaid else ""
    return _REPORTED - dt.timedelta(hours=args.last_nsaid_h), drug


def _bounded(argument: str, celsius: float | None) -> float | None:
    fault = "" if celsius is None else load_limits()["temperature_c"].fault(celsius)
    if fault:
        raise RefusedInputError(argument, fault)
    return celsius


def _report(args: argparse.Namespace, tables: TriageTables) -> Report:
    last, drug = _last_nsaid(args)
    normal = _bounded("--normal-up-to-c", args.normal_up_to_c)
    return Report(
        at=_REPORTED,
        signs=tuple(args.signs),
        temperature_c=_bounded("--temperature-c", args.temperature_c),
        gait_normal=GAIT.get(args.gait),
        last_nsaid_at=last,
        nsaid=drug,
        species=args.species,
        age_days=args.age_days,
        limits=None if normal is None else typed_limits(tables, normal, args.species),
        unclear=tuple(args.unclear),
    )


def _document(found: Triage) -> dict[str, Any]:
    return {
        "urgency": found.urgency,
        "reasons": [
            {"urgency": r.urgency, "why": r.why, "source": r.source} for r in found.reasons
        ],
        "advice": list(found.advice),
        "masked": found.masked,
        "notes": list(found.notes),
    }


def run(args: argparse.Namespace) -> int:
    """Print how soon it must be seen, with the reasons."""
    tables = load_triage()
    if not args.signs and not args.unclear and args.temperature_c is None:
        raise RefusedInputError("SIGN", f"name one of {', '.join(s.id for s in tables.signs)}")
    try:
        found = triage(tables, _report(args, tables))
    except UnknownNameError as error:
        if error.field != "signs":
            raise
        raise UnknownNameError("SIGN", error.reason, error.matches) from error
    if args.json:
        emit_json(_document(found))
    else:
        sys.stdout.write("\n".join((*triage_lines(found), CAUTION)) + "\n")
    return 0
