"""`fieldnotes drugs ...`: the controlled-drug register, from receipt to the printed page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.drugs_print import print_list, print_open, print_register
from fieldnotes.cli.opening import day, moment, open_desk
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.vials import (
    MoveKind,
    Vial,
    VialBody,
    VialCorrection,
    VialCount,
    VialMove,
    VialReceived,
)

if TYPE_CHECKING:
    import argparse
    import datetime as dt
    from collections.abc import Callable

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.pharmacy import OpenDose

MOVES = {
    "draw": (MoveKind.DRAWN, "a volume drawn up for a horse"),
    "waste": (MoveKind.WASTED, "what was spilt or left in the syringe; needs a witness"),
    "return": (MoveKind.RETURNED, "what went back to the supplier"),
    "destroy": (MoveKind.DESTROYED, "what was destroyed; needs a witness"),
    "lose": (MoveKind.LOST, "what cannot be accounted for; needs a witness"),
}
OPTIONS = {
    "volume_ml": "--ml", "at": "--at", "received_at": "--at", "who": "--who", "id": "--mark",
    "witness": "--witness", "to": "--to", "reason": "--reason", "horse": "--horse",
    "batch": "--batch", "expiry": "--expiry", "received_from": "--from", "unit": "--strength",
    "amount_per_ml": "--strength", "vial": "VIAL", "drug": "DRUG", "name": "DRUG",
    "of": "ENTRY", "why": "--why", "text": "--text",
}  # fmt: skip


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the actions."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    listing = actions.add_parser("list", help="vials with balance, expiry and what is off")
    listing.add_argument("--all", action="store_true", help="empty vials as well")
    still = actions.add_parser("open", help="doses of visits that are not booked")
    still.add_argument("--days", type=int, default=90, metavar="N", help="how far back (90)")
    _receive_arguments(actions.add_parser("receive", help="take a vial into stock"))
    for name, (_, words) in MOVES.items():
        _move_arguments(actions.add_parser(name, help=words), name)
    count = actions.add_parser("count", help="what is really in a vial")
    count.add_argument("vial", metavar="VIAL")
    count.add_argument("--ml", type=float, required=True, metavar="N")
    count.add_argument("--note", default="", metavar="TEXT")
    _who_arguments(count)
    correct = actions.add_parser("correct", help="correct an entry by a new one beside it")
    correct.add_argument("entry", metavar="ENTRY", help="the entry's id, as printed")
    correct.add_argument("--why", default="", metavar="TEXT")
    volume = correct.add_mutually_exclusive_group()
    volume.add_argument("--ml", type=float, metavar="N", help="the volume it should read")
    volume.add_argument("--strike", action="store_true", help="it should not be there at all")
    correct.add_argument("--text", default="", metavar="TEXT", help="anything else it should read")
    _who_arguments(correct, witness=False)
    register = actions.add_parser("register", help="print the register of a period")
    register.add_argument("--from", dest="start", metavar="D", help="first day (30 days ago)")
    register.add_argument("--to", dest="end", metavar="D", help="last day (today)")
    register.add_argument("--format", choices=("text", "markdown", "html", "csv"), default="text")
    register.add_argument("--output", metavar="FILE")


def _who_arguments(parser: argparse.ArgumentParser, *, witness: bool = True) -> None:
    parser.add_argument("--who", default="", metavar="ID", help="who did it (default: who signs)")
    parser.add_argument("--at", metavar="ISO-8601", help="when it took place (default now)")
    if witness:
        parser.add_argument("--witness", default="", metavar="NAME")


def _receive_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("drug", metavar="DRUG", help="the generic name")
    parser.add_argument("--strength", required=True, metavar="S", help="as '100 mg/mL'")
    parser.add_argument("--ml", type=float, required=True, metavar="N", help="what it holds")
    parser.add_argument("--batch", default="", metavar="B")
    parser.add_argument("--expiry", required=True, metavar="D", help="the last day of use")
    parser.add_argument("--from", dest="source", default="", metavar="NAME", help="the supplier")
    parser.add_argument("--mark", default="", metavar="V", help="what is written on the vial")
    parser.add_argument("--at", metavar="ISO-8601", help="when it came (default now)")
    parser.add_argument("--reason", default="", metavar="TEXT")


def _move_arguments(parser: argparse.ArgumentParser, name: str) -> None:
    parser.add_argument("vial", metavar="VIAL")
    volume = parser.add_mutually_exclusive_group(required=name != "draw")
    volume.add_argument("--ml", type=float, metavar="N")
    volume.add_argument("--amount", type=float, metavar="N", help="in the drug's unit instead")
    parser.add_argument("--reason", default="", metavar="TEXT")
    parser.add_argument("--to", default="", metavar="NAME")
    if name == "draw":
        parser.add_argument("--case", default="", metavar="REF")
        parser.add_argument("--horse", default="", metavar="NAME", help="where there is no case")
        parser.add_argument("--dose", default="", metavar="ID", help="a dose 'drugs open' lists")
    _who_arguments(parser)


def run(args: argparse.Namespace) -> int:
    """Carry out one action."""
    desk = open_desk(args)
    if args.action == "list":
        return print_list(desk, args)
    if args.action == "open":
        return print_open(desk, args)
    if args.action == "register":
        return print_register(desk, args)
    return _write(desk, args)


def _write(desk: Casework, args: argparse.Namespace) -> int:
    makers: dict[str, Callable[[Casework, argparse.Namespace], VialBody]] = {
        "receive": _received,
        "count": _counted,
        "correct": _corrected,
    }
    body = makers.get(args.action, _moved)(desk, args)
    try:
        saved = desk.pharmacy.write(body)
    except RefusedInputError as error:
        raise RefusedInputError(OPTIONS.get(error.field, error.field), error.reason) from error
    document: dict[str, Any] = {"entry": saved.entries[0]}
    if not isinstance(body, VialCorrection):
        mark = body.vial.id if isinstance(body, VialReceived) else body.vial
        account = desk.pharmacy.account(mark)
        document |= {"vial": account.vial.id, "balance_ml": account.balance_ml}
    if args.json:
        emit_json(document)
    else:
        print(document["entry"])
    return 0


def _when(desk: Casework, args: argparse.Namespace) -> dt.datetime:
    return moment(args.at, "--at") if args.at else desk.now()


def strength(text: str) -> tuple[float, str]:
    """Read '100 mg/mL' as amount and unit."""
    number, _, unit = text.strip().replace("/mL", "").replace("/ml", "").partition(" ")
    known = {"mg": "mg", "iu": "IU", "ug": "ug"}
    try:
        return float(number), known[unit.strip().casefold()]
    except (ValueError, KeyError) as error:
        raise RefusedInputError("--strength", f"'{text}' is not like '100 mg/mL'") from error


def _received(desk: Casework, args: argparse.Namespace) -> VialBody:
    amount, unit = strength(args.strength)
    expiry = day(args.expiry, "--expiry")
    if expiry is None:
        raise RefusedInputError("--expiry", "the last day of use is on the label")
    drug, name = desk.pharmacy.named(args.drug)
    mark = args.mark or desk.pharmacy.next_mark()
    return VialReceived(Vial(
        mark, drug, name, amount, unit, args.ml, args.batch, expiry, _when(desk, args),
        args.source, args.reason,
    ))  # fmt: skip


def _moved(desk: Casework, args: argparse.Namespace) -> VialBody:
    dose = _dose(desk, args)
    account = desk.pharmacy.account(args.vial, "VIAL")
    volume = args.ml
    if args.amount is not None:
        volume = args.amount / account.vial.amount_per_ml
    elif volume is None and dose is not None:
        volume = dose.volume_ml
    if volume is None:
        raise RefusedInputError("--ml", "how much?")
    case, horse = "", ""
    if dose is not None:
        case = dose.case
    elif getattr(args, "case", ""):
        case = args.case
    if case:
        found = desk.case(case)
        case, horse = found.ref, found.opened.horse
    elif getattr(args, "horse", ""):
        horse = desk.pharmacy.horse_named(args.horse)
    return VialMove(
        account.vial.id, MOVES[args.action][0], round(volume, 3),
        dose.at if dose and not args.at else _when(desk, args), args.who or desk.author(),
        case=case, horse=horse, visit=dose.visit if dose else "",
        item=dose.item if dose else None, witness=args.witness, to=args.to, reason=args.reason,
    )  # fmt: skip


def _dose(desk: Casework, args: argparse.Namespace) -> OpenDose | None:
    wanted = getattr(args, "dose", "")
    if not wanted:
        return None
    found = {x.id: x for x in desk.pharmacy.open_doses(3660)}
    if wanted not in found:
        raise RefusedInputError("--dose", f"no dose still open is called '{wanted}'")
    return found[wanted]


def _counted(desk: Casework, args: argparse.Namespace) -> VialBody:
    who = args.who or desk.author()
    return VialCount(args.vial, args.ml, _when(desk, args), who, args.witness, args.note)


def _corrected(desk: Casework, args: argparse.Namespace) -> VialBody:
    return VialCorrection(
        args.entry,
        args.why,
        args.who or desk.author(),
        _when(desk, args),
        volume_ml=args.ml,
        struck=args.strike,
        text=args.text,
    )
