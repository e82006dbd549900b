"""`fieldnotes formulary ...`: the practice's own doses, strengths, choices, marks and prices."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import msgspec

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import open_desk
from fieldnotes.cli.text import columns
from fieldnotes.clinical.dose_text import drug_lines
from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    import argparse

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.knowledge.drugs import Drug

OPTIONS = {
    "drug": "DRUG", "route": "--route", "routes": "--route", "dose": "--low", "amount": "AMOUNT",
    "interval_h": "--every-h", "why": "--source", "per": "--per", "label": "--label",
    "item": "ITEM", "pack": "--pack", "currency": "--currency",
}  # fmt: skip


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the actions."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    listing = actions.add_parser("list", help="every drug: confirmed, or not yet; own figures")
    listing.add_argument("--unconfirmed", action="store_true", help="only those nobody confirmed")
    for name, words in (
        ("show", "one drug with every dose and strength and its source"),
        ("confirm", "its figures were compared with the label"),
        ("unconfirm", "take a confirmation back"),
    ):
        actions.add_parser(name, help=words).add_argument("drug", metavar="DRUG")
    _dose_arguments(actions.add_parser("dose", help="the dose the practice uses"))
    _strength_arguments(actions.add_parser("strength", help="a strength the practice stocks"))
    drop = actions.add_parser("published", help="go back to the published doses by a route")
    choose = actions.add_parser("choose", help="the published dose it goes by")
    for each in (drop, choose):
        each.add_argument("drug", metavar="DRUG")
        each.add_argument("--route", required=True, metavar="R")
    choose.add_argument("--label", required=True, metavar="TEXT", help="part of the dose's label")
    control = actions.add_parser("control", help="keep it in the controlled-drug register, or not")
    control.add_argument("drug", metavar="DRUG")
    control.add_argument("--not", dest="controlled", action="store_false")
    control.add_argument("--source", default="", metavar="TEXT", help="why")
    price = actions.add_parser("price", help="what one mL, tablet, roll or piece costs; 0: none")
    price.add_argument("item", metavar="ITEM", help="as 'flunixin 50 mg/mL', 'cohesive bandage'")
    price.add_argument("amount", type=float, metavar="AMOUNT")
    price.add_argument("--per", required=True, metavar="MEASURE", help="mL, tablet, roll ...")
    price.add_argument("--currency", default="EUR", metavar="EUR")
    actions.add_parser("prices", help="the prices that stand")


def _dose_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("drug", metavar="DRUG")
    parser.add_argument("--route", required=True, metavar="R")
    parser.add_argument("--low", type=float, required=True, metavar="N", help="in the drug's unit")
    parser.add_argument("--high", type=float, metavar="N", help="the upper end, if a range")
    parser.add_argument("--every-h", type=float, metavar="H", help="interval; once without it")
    parser.add_argument("--total", action="store_true", help="for the animal, not per kg")
    parser.add_argument("--source", default="", metavar="TEXT", help="where it comes from")


def _strength_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("drug", metavar="DRUG")
    parser.add_argument("amount", type=float, metavar="AMOUNT", help="drug in one measure")
    parser.add_argument("--per", default="mL", metavar="MEASURE", help="mL, g, tablet, dose")
    parser.add_argument("--form", default="injection", metavar="TEXT")
    parser.add_argument("--pack", type=float, metavar="N", help="what one bottle or box holds")
    parser.add_argument("--route", action="append", default=[], metavar="R", help="may be repeated")
    parser.add_argument("--source", default="", metavar="TEXT", help="the label it stands on")


def run(args: argparse.Namespace) -> int:
    """Carry out one action."""
    desk = open_desk(args)
    shows = {"list": _list, "show": _show, "prices": _prices}
    if args.action in shows:
        return shows[args.action](desk, args)
    try:
        saved = _decide(desk, args)
    except RefusedInputError as error:
        raise RefusedInputError(OPTIONS.get(error.field, error.field), error.reason) from error
    if args.json:
        emit_json({"entry": saved.entries[0]})
    else:
        print(saved.entries[0])
    return 0


def _decide(desk: Casework, args: argparse.Namespace) -> Saved:
    own = desk.formulary
    match args.action:
        case "confirm" | "unconfirm":
            return own.confirm(args.drug, confirmed=args.action == "confirm")
        case "dose":
            return own.set_dose(
                args.drug, args.route, args.low, args.high, interval_h=args.every_h,
                why=args.source, per_kg=not args.total,
            )  # fmt: skip
        case "strength":
            routes = tuple(args.route)
            return own.set_strength(
                args.drug, args.amount, args.per, args.form, routes, args.source, args.pack
            )
        case "published":
            return own.drop_dose(args.drug, args.route)
        case "choose":
            return own.choose(args.drug, args.route, args.label)
        case "control":
            return own.mark(args.drug, args.source, controlled=args.controlled)
        case _:
            return own.set_price(args.item, args.per, args.amount, args.currency)


def _own_words(drug: Drug) -> str:
    doses = [r.route for r in drug.regimens if r.changed]
    chosen = [f"{r.route}: {r.label}" for r in drug.regimens if r.chosen]
    strengths = [f"{s.amount:g} {drug.unit}/{s.per}" for s in drug.strengths if s.changed]
    said = [f"own dose {', '.join(doses)}"] if doses else []
    said += [f"goes by {'; '.join(chosen)}"] if chosen else []
    said += [f"stocks {', '.join(strengths)}"] if strengths else []
    return "; ".join(said)


def _list(desk: Casework, args: argparse.Namespace) -> int:
    kept = [d for d in desk.knowledge.drugs if not (args.unconfirmed and d.confirmed)]
    controlled = desk.pharmacy.registered()
    if args.json:
        emit_json([
            {
                "id": d.id, "drug": d.name, "unit": d.unit, "confirmed": d.confirmed or None,
                "own": _own_words(d), "controlled": d.id in controlled,
            }
            for d in kept
        ])  # fmt: skip
        return 0
    rows = [
        (
            d.name,
            d.confirmed or "UNCONFIRMED",
            "controlled" if d.id in controlled else "",
            _own_words(d),
        )
        for d in kept
    ]
    print(columns(("drug", "confirmed by", "register", "the practice's own"), rows))
    return 0


def drug_document(drug: Drug) -> dict[str, Any]:
    """Give a drug with every dose and strength as JSON; doses in the drug's unit."""
    return {
        "id": drug.id,
        "drug": drug.name,
        "unit": drug.unit,
        "confirmed": drug.confirmed or None,
        "doses": msgspec.to_builtins(drug.regimens),
        "strengths": msgspec.to_builtins(drug.strengths),
    }


def _show(desk: Casework, args: argparse.Namespace) -> int:
    drug = desk.formulary.drug(args.drug)
    if args.json:
        emit_json(drug_document(drug))
        return 0
    print(f"{drug.name}, {drug.confirmed or 'UNCONFIRMED'}")
    print("\n".join(f"  {line}" for line in drug_lines(drug)))
    return 0


def _prices(desk: Casework, args: argparse.Namespace) -> int:
    found = desk.formulary.prices()
    if args.json:
        emit_json([msgspec.to_builtins(p) for p in found])
        return 0
    rows = [(p.item, f"{p.amount:,.2f} {p.currency}", p.per, p.set_by, f"{p.on}") for p in found]
    print(columns(("item", "price", "per", "set by", "on"), rows) if rows else "No price is set.")
    return 0
