"""`fieldnotes reckon anaesthetic NAME`: the total over all wounds of a day and its ceilings."""

from __future__ import annotations

import datetime as dt
import sys
from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.reckon.weighing import add_weight, weight_of
from fieldnotes.clinical.day_totals import DayTotal
from fieldnotes.clinical.dose_text import unconfirmed
from fieldnotes.clinical.reckoned_text import CAUTION
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.knowledge.drugs import load_drugs, one_drug

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    from fieldnotes.knowledge.drugs import Drug

LOCAL = "local anaesthetic"
MOST_ML = 1000.0
MG_PER_ML_IN_PERCENT = 10.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("name", metavar="NAME", help="any part of the generic name")
    add_weight(parser)
    parser.add_argument("--percent", type=float, required=True, metavar="P", help="its strength")
    parser.add_argument(
        "--ml", type=float, nargs="+", required=True, metavar="ML", help="into each wound"
    )


def _checked(args: argparse.Namespace) -> Drug:
    drug = one_drug(load_drugs(mention=args.name), args.name, "NAME")
    if LOCAL not in drug.classes:
        raise RefusedInputError("NAME", f"{drug.name} is no local anaesthetic")
    if not 0 < args.percent <= 10:
        raise RefusedInputError("--percent", f"{args.percent:g} % is no strength such as 2")
    for ml in args.ml:
        if not 0 < ml <= MOST_ML:
            raise RefusedInputError("--ml", f"{ml:g} mL is not within 0 to {MOST_ML:g} mL")
    return drug


def _lines(total: DayTotal, mg_per_ml: float, volumes_ml: list[float]) -> Iterator[str]:
    drug, unit = total.drug, total.drug.unit
    if not drug.confirmed:
        yield f"! {unconfirmed(drug.name)}"
    parts = " + ".join(f"{ml:g}" for ml in volumes_ml)
    yield (
        f"{drug.name} {parts} mL of {mg_per_ml:g} {unit}/mL = {total.amount:g} {unit} = "
        f"{total.per_kg:.2f} {unit}/kg at {total.weight_kg:g} kg, over all wounds"
    )
    for limit in total.ceilings:
        room_ml = (limit.value * total.weight_kg - total.amount) / mg_per_ml
        most = f"at most {limit.value:g} {unit}/kg ({limit.label}; {limit.source})"
        over = limit in total.passed
        yield f"! OVER: {most} by {-room_ml:.1f} mL" if over else f"  {most}: {room_ml:.1f} mL left"
    if not total.ceilings:
        yield f"! no ceiling is held for {drug.name}"
    yield "  total = sum of volume x strength; per kg = total / weight; source: arithmetic"
    yield CAUTION


def run(args: argparse.Namespace) -> int:
    """Print the total with each ceiling and the room it leaves."""
    drug, mg_per_ml = _checked(args), args.percent * MG_PER_ML_IN_PERCENT
    amount = sum(args.ml) * mg_per_ml
    total = DayTotal(drug, dt.date.min, amount, weight_of(args))
    if args.json:
        emit_json(
            {
                "drug": drug.id,
                "total_mg": amount,
                "total_ml": sum(args.ml),
                "mg_per_kg": total.per_kg,
                "ceilings": [
                    {"mg_per_kg": x.value, "source": x.source, "over": x in total.passed}
                    for x in total.ceilings
                ],
            }
        )
    else:
        sys.stdout.write("\n".join(_lines(total, mg_per_ml, args.ml)) + "\n")
    return 0
