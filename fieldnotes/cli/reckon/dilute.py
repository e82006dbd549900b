"""`fieldnotes reckon dilute`: stock and diluent for an antiseptic, in % w/v."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json
from fieldnotes.clinical.dilution import dilute
from fieldnotes.clinical.reckoned_text import CAUTION, dilution_lines
from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    import argparse


IODINE = "  10 % povidone-iodine holds 1 % available iodine; percentages are of povidone-iodine."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("--stock-percent", type=float, required=True, metavar="P")
    parser.add_argument("--target-percent", type=float, required=True, metavar="P")
    parser.add_argument("--final-ml", type=float, required=True, metavar="ML")


def run(args: argparse.Namespace) -> int:
    """Print the dilution."""
    try:
        made = dilute(args.stock_percent, args.target_percent, args.final_ml)
    except RefusedInputError as error:
        raise RefusedInputError(f"--{error.field}", error.reason) from error
    if args.json:
        emit_json(
            {
                "stock_ml": made.stock_ml,
                "diluent_ml": made.diluent_ml,
                "parts": made.parts,
                "formula": "stock_ml = target_percent x final_ml / stock_percent",
                "source": "arithmetic, % w/v",
            }
        )
    else:
        sys.stdout.write("\n".join((*dilution_lines(made), IODINE, CAUTION)) + "\n")
    return 0
