"""`fieldnotes templates ...`: the practice's own papers, and its templates of common wounds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import data_folder
from fieldnotes.cli.text import columns
from fieldnotes.cli.wound_templates import add_actions, run_wounds
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.templates import FOLDER, export_shipped, own_texts, shipped

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what can be done with templates."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="export|list|wounds")
    actions.add_parser("export", help="copy the shipped ones into the store, to be edited there")
    actions.add_parser("list", help="each template, and whether the practice changed it")
    add_actions(actions.add_parser("wounds", help="templates of common wounds, which F8 offers"))


def run(args: argparse.Namespace) -> int:
    """Carry out one action."""
    if args.action == "wounds":
        return run_wounds(args)
    book = Casebook(data_folder(args), read_only=args.read_only)
    if args.action == "export":
        with book.writing():
            names = export_shipped(book.folder)
        if args.json:
            emit_json(list(names))
        else:
            print(f"{len(names)} files copied to {book.folder / FOLDER}; edit them there.")
        return 0
    own, known = own_texts(book.folder, book.problems), shipped()
    args.problems = lambda: book.problems
    states = {n: "shipped" if n not in own else _state(own[n], t) for n, t in known.items()}
    states |= {name: "used by nothing" for name in own if name not in known}
    if args.json:
        emit_json(states)
    else:
        print(columns(("template", "state"), sorted(states.items())))
    return 0


def _state(own: str, text: str) -> str:
    return "own, as shipped" if own == text else "own, changed"
