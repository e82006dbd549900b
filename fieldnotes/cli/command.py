"""What a command is: a module with `add_arguments` and `run`, imported only when it is called."""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Any, Protocol, cast

if TYPE_CHECKING:
    import argparse


class CommandModule(Protocol):
    """A module under `cli/` that carries out one command."""

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Declare the command's arguments."""

    def run(self, args: argparse.Namespace) -> int:
        """Carry it out; the exit code: 0 done, 1 refused or not possible, 2 wrong usage."""


@dataclass(frozen=True)
class Command:
    """A row of the command table."""

    name: str
    help: str
    module: str

    def load(self) -> CommandModule:
        """Import the module that carries the command out."""
        return cast("CommandModule", import_module(self.module))


def emit_json(document: Any) -> None:  # noqa: ANN401  (any JSON value)
    """Print exactly one JSON document on stdout."""
    sys.stdout.write(json.dumps(document, ensure_ascii=False, indent=2, allow_nan=False) + "\n")


def shown_progress(done: int, of: int, words: str = "") -> None:
    """Show how far a long work is, on a terminal only."""
    if sys.stderr.isatty() and (done == of or done % 500 == 0):
        end = "\n" if done == of else ""
        sys.stderr.write(f"\r{words}{100 * done // of:3d} %{end}")
        sys.stderr.flush()


def say(message: str) -> None:
    """Print a message for the person, on stderr."""
    sys.stderr.write(message + "\n")
