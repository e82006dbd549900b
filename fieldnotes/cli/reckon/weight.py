"""`fieldnotes reckon weight`: body weight from girth and length."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

from fieldnotes.cli.command import emit_json
from fieldnotes.clinical.reckoned_text import CAUTION, weight_lines
from fieldnotes.clinical.weight import Estimate, Tape, WeightEstimate, estimate_weight
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.units import cm_from_in, lb_from_kg
from fieldnotes.knowledge.weights import MEASURES, load_weights

if TYPE_CHECKING:
    import argparse

    from fieldnotes.knowledge.weights import Weights


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    for measure in MEASURES:
        parser.add_argument(f"--{measure}-cm", type=float, metavar="CM")
        parser.add_argument(f"--{measure}-in", type=float, metavar="IN")
    parser.add_argument(
        "--build",
        default="adult",
        help="adult, icelandic, arabian, pony, stock, draft, warmblood, foal, donkey, young-donkey",
    )
    parser.add_argument("--age-days", type=int, metavar="A", help="a foal's age")


def _measure(args: argparse.Namespace, name: str) -> float | None:
    cm: float | None = getattr(args, f"{name}_cm")
    inches: float | None = getattr(args, f"{name}_in")
    if cm is not None and inches is not None:
        raise RefusedInputError(f"--{name}-in", f"--{name}-cm is given as well; give one")
    return cm_from_in(inches) if inches is not None else cm


def _argument(args: argparse.Namespace, field: str) -> str:
    """Give the argument a refused field stands in, in the unit that was typed."""
    if field not in MEASURES:
        return f"--{field}"
    return f"--{field}-{'cm' if getattr(args, f'{field}_in') is None else 'in'}"


def _estimate_document(estimate: Estimate) -> dict[str, Any]:
    return {
        "weight_kg": estimate.weight_kg,
        "formula": estimate.formula,
        "error": estimate.error,
        "source": estimate.source,
    }


def _document(found: WeightEstimate, tape: Tape) -> dict[str, Any]:
    return {
        **_estimate_document(found.chosen),
        "weight_lb": lb_from_kg(found.chosen.weight_kg),
        "inputs_cm": {m: tape.of(m) for m in MEASURES if tape.of(m) is not None},
        "others": [_estimate_document(o) for o in found.others],
        "ideal_kg": found.ideal.weight_kg if found.ideal else None,
        "neck_height_ratio": found.neck_height_ratio,
        "warnings": list(found.warnings),
    }


def _formulas(args: argparse.Namespace) -> Weights:
    """Give the formulas; of a store named by --data, without what its practice leaves out."""
    if not args.data:
        return load_weights()
    from fieldnotes.cli.opening import open_desk  # noqa: PLC0415  (no calculator else needs a store)

    return open_desk(args).knowledge.weights


def run(args: argparse.Namespace) -> int:
    """Print the estimate."""
    tape = Tape(**{f"{m}_cm": _measure(args, m) for m in MEASURES})
    try:
        found = estimate_weight(_formulas(args), args.build, tape, args.age_days)
    except RefusedInputError as error:
        raise RefusedInputError(_argument(args, error.field), error.reason) from error
    if args.json:
        emit_json(_document(found, tape))
    else:
        sys.stdout.write("\n".join((*weight_lines(found, tape), CAUTION)) + "\n")
    return 0
