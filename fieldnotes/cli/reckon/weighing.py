"""The body weight of a calculator: in kilograms, or as the practice weighs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from fieldnotes.clinical.doses import checked_weight
from fieldnotes.domain.body_weight import METRIC, has_unit, read_weight
from fieldnotes.domain.errors import RefusedInputError

if TYPE_CHECKING:
    import argparse


def add_weight(parser: argparse.ArgumentParser) -> None:
    """Declare the two ways to give a weight."""
    one = parser.add_mutually_exclusive_group(required=True)
    one.add_argument("--weight-kg", metavar="KG", help="in kilograms; 1050lb is turned into them")
    one.add_argument("--weight", metavar="W", help="480kg, 1050lb; bare: as the practice weighs")


def has_store(args: argparse.Namespace) -> bool:
    """Say whether the arguments name a store that is there."""
    return bool(args.data) and (Path(args.data).expanduser() / "store.json").is_file()


def weight_of(args: argparse.Namespace) -> float:
    """Give the weight in kilograms; RefusedInputError names the option it was typed at."""
    name, text = ("--weight-kg", args.weight_kg) if args.weight_kg else ("--weight", args.weight)
    try:
        kg = read_weight(text, METRIC if name == "--weight-kg" else _units(args, text))
    except RefusedInputError as error:
        raise RefusedInputError(name, error.reason) from error
    return checked_weight(kg, name)


def _units(args: argparse.Namespace, text: str) -> str:
    if has_unit(text):
        return METRIC
    if not has_store(args):
        raise RefusedInputError("--weight", f"{text}kg or {text}lb? no store says which")
    from fieldnotes.cli.opening import open_desk  # noqa: PLC0415  (plain arguments need no store)

    return open_desk(args).practice().units
