"""`fieldnotes settings [KEY [VALUE]]`: the practice's settings, one or all; set one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.settings import change_setting, setting_named, settings
from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import open_desk

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("key", nargs="?", help="a setting, such as day_start")
    parser.add_argument("value", nargs="?", help="what it is from now on; '' empties it")


def run(args: argparse.Namespace) -> int:
    """Print settings, or change one."""
    desk = open_desk(args)
    if args.value is not None:
        change_setting(desk, args.key, args.value)
    shown = settings() if args.key is None else (setting_named(args.key),)
    practice = desk.practice()
    if args.json:
        emit_json({s.key: s.of(practice) for s in shown})
        return 0
    width = max(len(s.key) for s in shown)
    for s in shown:
        print(f"{s.key:<{width}}  {s.of(practice) or '-':<24}  {s.hint}".rstrip())
    return 0
