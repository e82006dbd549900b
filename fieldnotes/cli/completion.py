"""`fieldnotes completion bash|zsh|tcsh`: a script that completes commands and options by Tab."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import StoreError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence

    from fieldnotes.cli.command import Command

SHELLS = ("bash", "zsh", "tcsh")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("shell", choices=SHELLS, help="the shell it is for")
    parser.epilog = (
        "bash: fieldnotes completion bash > ~/.local/share/bash-completion/completions/fieldnotes"
    )


def _fill(parser: argparse.ArgumentParser, table: Sequence[Command]) -> None:
    commands = parser.add_subparsers(metavar="COMMAND")
    for command in table:
        own = commands.add_parser(command.name, help=command.help)
        command.load().add_arguments(own)
        own.add_argument("--json", action="store_true", help="print one JSON document")


def whole_parser() -> argparse.ArgumentParser:
    """Give one parser of every command and option: the one in use knows only its own."""
    from fieldnotes.cli.main import COMMANDS, GROUPS, top_parser  # noqa: PLC0415  (it imports us)

    parser = top_parser()
    commands = parser.add_subparsers(metavar="COMMAND")
    for command in COMMANDS:
        own = commands.add_parser(command.name, help=command.help)
        if command.name in GROUPS:
            _fill(own, GROUPS[command.name])
        else:
            command.load().add_arguments(own)
            own.add_argument("--json", action="store_true", help="print one JSON document")
    return parser


def run(args: argparse.Namespace) -> int:
    """Print the script."""
    try:
        import shtab  # noqa: PLC0415  (an extra)
    except ImportError as error:
        raise StoreError(
            "completion needs the extra 'completion': pip install 'fieldnotes[completion]'"
        ) from error
    sys.stdout.write(shtab.complete(whole_parser(), args.shell) + "\n")
    return 0
