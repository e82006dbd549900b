"""`fieldnotes reckon dose NAME`: amount, volume and limits of a drug; over a limit it warns."""

from __future__ import annotations

import re
import sys
from typing import TYPE_CHECKING, Any

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.reckon.weighing import add_weight, has_store, weight_of
from fieldnotes.clinical.costs import dose_cost
from fieldnotes.clinical.dose_text import dose_line, unconfirmed
from fieldnotes.clinical.doses import Dose, DoseOption, dose, read_per_kg
from fieldnotes.clinical.reckoned_text import CAUTION
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.knowledge.drugs import load_drugs, one_drug
from fieldnotes.knowledge.routes import load_routes, one_route

if TYPE_CHECKING:
    import argparse
    from collections.abc import Mapping

    from fieldnotes.clinical.costs import Cost
    from fieldnotes.domain.formulary import Price
    from fieldnotes.knowledge.drugs import Drugs

_PER_KG = re.compile(r"([0-9.]+(?:[eE][0-9]+)?)\s*(mg|ug|mcg|µg|μg|IU)?(?:/kg)?", re.IGNORECASE)
_UNITS = {"mcg": "ug", "µg": "ug", "μg": "ug", "iu": "IU"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("name", nargs="+", metavar="NAME", help="any part of the generic name")
    add_weight(parser)
    parser.add_argument("--per-kg", metavar="N", help="a dose of your own: 22000, 1.1, 40ug")
    parser.add_argument("--route", metavar="R", help="IV, IM, PO, SC, SL, infiltration")
    parser.add_argument("--age-days", type=int, metavar="A", help="shows foal doses")
    parser.add_argument("--species", default="horse", choices=("horse", "donkey", "mule", "hinny"))


def _per_kg(text: str) -> tuple[float, str | None]:
    found = _PER_KG.fullmatch(text.strip())
    if not found:
        raise RefusedInputError("--per-kg", f"'{text}' is no dose such as 22000, 1.1 or 40ug")
    unit = found[2] and _UNITS.get(found[2].lower(), found[2].lower())
    try:
        return float(found[1]), unit
    except ValueError as error:
        raise RefusedInputError("--per-kg", f"'{text}' is no number") from error


def _formulary(args: argparse.Namespace, name: str) -> tuple[Drugs, Mapping[str, Price]]:
    """Give the shipped drugs, or, where a store is named, the practice's own with its prices."""
    if not has_store(args):
        return load_drugs(mention=name), {}
    from fieldnotes.cli.opening import open_desk  # noqa: PLC0415  (plain arguments need no store)

    desk = open_desk(args)
    return desk.knowledge.drugs, desk.register().prices


def _reckoned(args: argparse.Namespace, drugs: Drugs) -> Dose:
    name = " ".join(args.name)
    drug = one_drug(drugs, name, "NAME")
    route = one_route(load_routes(), args.route, "--route") if args.route else None
    if route and route.record_only and all(r.route != route.id for r in drug.regimens):
        raise RefusedInputError(
            "--route", f"{route.name} is record-only until the practice enters a sourced dose"
        )
    per_kg, said = None, None
    if args.per_kg is not None:
        per_kg, said = read_per_kg(drug, *_per_kg(args.per_kg))
    reckoned = dose(
        drug,
        weight_of(args),
        per_kg=per_kg,
        route=route.id if route else None,
        age_days=args.age_days,
        species=args.species,
    )
    if said is None:
        return reckoned
    return Dose(drug, reckoned.weight_kg, reckoned.options, (said, *reckoned.warnings))


def option_document(option: DoseOption, cost: Cost | None = None) -> dict[str, Any]:
    """Give an option as JSON: `volume_ml` for liquids, `units` of `unit_name` for the rest."""
    document: dict[str, Any] = {
        "route": option.route,
        "label": option.label,
        "per_kg": option.per_kg,
        "unit": option.unit,
        "amount": option.amount,
        "interval_h": option.interval_h,
        "interval_most_h": option.interval_most_h,
        "concentration": option.strength.amount,
        "concentration_unit": f"{option.unit}/{option.strength.per}",
        "form": option.strength.form,
    }
    if option.volume_ml is not None:
        document |= {
            "volume_ml": option.volume_ml,
            "sites": option.sites,
            "each_ml": option.each_ml,
        }
    else:
        document |= {
            "units": option.units,
            "unit_name": option.unit_name,
            "units_rounded": option.units_rounded,
            "per_kg_rounded": option.per_kg_rounded,
            "sites": None,
            "each_ml": None,
        }
    document |= {"limits": list(option.limits), "source": option.source}
    if option.changed or option.chosen or option.strength.changed:
        document["changed"] = option.changed or None
        document["chosen"] = option.chosen or None
        document["strength_set"] = option.strength.changed or None
    if cost is not None:
        document |= {"cost": cost.amount, "currency": cost.currency}
    return document


def document(reckoned: Dose, prices: Mapping[str, Price], *, stored: bool) -> dict[str, Any]:
    """Give the whole answer as JSON; from a store it says who confirmed the drug, or null."""
    name = reckoned.drug.name
    confirmed = {"confirmed": reckoned.drug.confirmed or None} if stored else {}
    return confirmed | {
        "drug": reckoned.drug.name,
        "id": reckoned.drug.id,
        "weight_kg": reckoned.weight_kg,
        "options": [option_document(o, dose_cost(name, o, prices)) for o in reckoned.options],
        "warnings": list(reckoned.warnings),
        "cautions": [
            {"kind": c.kind, "text": c.text, "source": c.source} for c in reckoned.drug.cautions
        ],
    }


def _option_lines(
    drug: str, options: tuple[DoseOption, ...], prices: Mapping[str, Price]
) -> list[str]:
    lines = []
    for option in options:
        label = f"{option.label}, {option.end}" if option.end else option.label
        lines.append(f"- {label} ({option.strength.form}): {dose_line(drug, option)}")
        lines += [f"    {text}" for text in option.limits]
        cost = dose_cost(drug, option, prices)
        lines += [f"    costs {cost.text}"] if cost else []
    return lines


def _lines(reckoned: Dose, prices: Mapping[str, Price]) -> list[str]:
    drug = reckoned.drug
    notes = [c for c in drug.cautions if c.kind != "route"]
    return [
        f"{drug.name}, {reckoned.weight_kg:g} kg (amount = dose per kg x weight)",
        *_option_lines(drug.name, reckoned.options, prices),
        *(f"! {text}" for text in reckoned.warnings),
        *(f"  {c.kind.replace('_', ' ')}: {c.text} ({c.source})" for c in notes),
        CAUTION,
    ]


def run(args: argparse.Namespace) -> int:
    """Print the options for one drug and weight."""
    drugs, prices = _formulary(args, " ".join(args.name))
    reckoned, stored = _reckoned(args, drugs), has_store(args)
    if stored and not reckoned.drug.confirmed:
        said = (unconfirmed(reckoned.drug.name), *reckoned.warnings)
        reckoned = Dose(reckoned.drug, reckoned.weight_kg, reckoned.options, said)
    if args.json:
        emit_json(document(reckoned, prices, stored=stored))
    else:
        sys.stdout.write("\n".join(_lines(reckoned, prices)) + "\n")
    return 0
