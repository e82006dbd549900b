"""Parses the command line and calls one command; errors become an exit code, never a traceback."""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING

from fieldnotes import __version__
from fieldnotes.cli.command import Command, say
from fieldnotes.cli.examples import taught
from fieldnotes.cli.reckon import RECKONERS
from fieldnotes.domain.errors import FieldnotesError, PassphraseNeededError

if TYPE_CHECKING:
    from collections.abc import Sequence

COMMANDS = (
    Command("init", "a new store: the practice and who signs", "fieldnotes.cli.init"),
    Command("demo", "a fresh copy of the sample practice", "fieldnotes.cli.demo"),
    Command("today", "the day at a glance, one fact a line", "fieldnotes.cli.today"),
    Command("case", "list, show and export case records", "fieldnotes.cli.case"),
    Command("due", "follow-ups overdue, due and coming", "fieldnotes.cli.due"),
    Command("plan", "a case's follow-ups and what changed", "fieldnotes.cli.plan"),
    Command("flags", "what is flagged; answer a flag", "fieldnotes.cli.flags"),
    Command("chart", "a case's healing course as text, SVG or PNG", "fieldnotes.cli.chart"),
    Command("rules", "the follow-up rules: list, change", "fieldnotes.cli.rules"),
    Command("route", "today's recheck route", "fieldnotes.cli.route"),
    Command("day", "today as it runs: stops, calls, replanning", "fieldnotes.cli.day"),
    Command("stock", "what is in the truck", "fieldnotes.cli.stock"),
    Command("rounds", "which visit on which day", "fieldnotes.cli.rounds"),
    Command(
        "outcomes", "days to closure and complications over all cases", "fieldnotes.cli.outcomes"
    ),
    Command("handout", "the owner's aftercare handout", "fieldnotes.cli.handout"),
    Command("paper", "referral letter, handover, case report", "fieldnotes.cli.paper"),
    Command("templates", "own wording of papers; common wounds", "fieldnotes.cli.templates"),
    Command("calendar", "recheck calendar (iCalendar)", "fieldnotes.cli.calendar"),
    Command("note", "add a note to a case", "fieldnotes.cli.note"),
    Command("measure", "a wound's size, measured apart from a visit", "fieldnotes.cli.measure"),
    Command("photo", "photographs of a case: add, list, export", "fieldnotes.cli.photo"),
    Command("outbox", "queued mail: list, send, withdraw", "fieldnotes.cli.outbox"),
    Command("mail", "the mail server: show, set, password", "fieldnotes.cli.mail"),
    Command("settings", "the practice's settings: show, set", "fieldnotes.cli.settings"),
    Command("drugs", "controlled-drug register", "fieldnotes.cli.drugs"),
    Command("formulary", "the practice's own doses, strengths, prices", "fieldnotes.cli.formulary"),
    Command("reckon", "the calculators", "fieldnotes.cli.reckon"),
    Command("check", "verify every record", "fieldnotes.cli.check"),
    Command("purge", "closed cases past their retention time", "fieldnotes.cli.purge"),
    Command("backup", "one verified archive of the store", "fieldnotes.cli.backup"),
    Command("lock", "encrypt the store: a passphrase opens it", "fieldnotes.cli.lock"),
    Command("restore", "an archive into an empty folder", "fieldnotes.cli.restore"),
    Command("import", "owners, premises, horses and cases", "fieldnotes.cli.import_"),
    Command("export", "everything as JSON and CSV", "fieldnotes.cli.export"),
    Command("completion", "a script for Tab in the shell", "fieldnotes.cli.completion"),
)
GROUPS = {"reckon": RECKONERS}


def top_parser() -> argparse.ArgumentParser:
    """Give the parser of what stands before the command."""
    width = max(len(c.name) for c in COMMANDS)
    listing = "\n".join(f"  {c.name:<{width}}  {c.help}" for c in COMMANDS)
    parser = argparse.ArgumentParser(
        prog="fieldnotes",
        description="Wound records, aftercare plans, handouts and recheck rounds.\n"
        "Without a command the app opens.",
        epilog=f"commands:\n{listing}\n\n'fieldnotes COMMAND --help' tells more.",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--data", metavar="DIR", help="the store (or FIELDNOTES_DATA)")
    parser.add_argument("--now", metavar="ISO-8601", help="fix the clock")
    parser.add_argument(
        "--read-only", action="store_true", help="look only, also while another has it open"
    )
    parser.add_argument("--version", action="store_true", help="print program and schema version")
    return parser


def _split(argv: list[str]) -> tuple[list[str], list[str]]:
    """Split at COMMAND: the first word that is not an option or an option's value."""
    i = 0
    while i < len(argv):
        if argv[i] in ("--data", "--now"):
            i += 2
        elif argv[i].startswith("-"):
            i += 1
        else:
            return argv[:i], argv[i:]
    return argv, []


def _pick(parser: argparse.ArgumentParser, table: Sequence[Command], name: str) -> Command:
    for command in table:
        if command.name == name:
            return command
    names = ", ".join(c.name for c in table)
    return parser.error(f"unknown command '{name}' (one of: {names})")


def _command(
    parser: argparse.ArgumentParser, words: list[str]
) -> tuple[Command, argparse.ArgumentParser, list[str]]:
    command = _pick(parser, COMMANDS, words[0])
    prog = f"fieldnotes {command.name}"
    rest = words[1:]
    if command.name in GROUPS:
        table = GROUPS[command.name]
        listing = "\n".join(f"  {c.name:<12} {c.help}" for c in table)
        group = argparse.ArgumentParser(
            prog=prog,
            description=command.help,
            epilog=f"{listing}\n\n{taught(command.name)}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        if not rest or rest[0].startswith("-"):
            group.parse_args(rest or ["--help"])
        command = _pick(group, table, rest[0])
        prog, rest = f"{prog} {command.name}", rest[1:]
    parser = argparse.ArgumentParser(
        prog=prog,
        description=command.help,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog=taught(words[0]) if command.name == words[0] else None,
    )
    return command, parser, rest


def _open_app(args: argparse.Namespace) -> int:
    from fieldnotes.cli.app import open_app  # noqa: PLC0415  (Textual is slow to import)

    return open_app(args)


def _version() -> int:
    from fieldnotes.storage.place import SCHEMA  # noqa: PLC0415

    sys.stdout.write(f"fieldnotes {__version__} (schema {SCHEMA})\n")
    return 0


def _run(argv: list[str]) -> int:
    before, words = _split(argv)
    top = top_parser()
    args = top.parse_args(before)
    args.data = args.data or os.environ.get("FIELDNOTES_DATA")
    if args.version:
        return _version()
    if not words:
        return _open_app(args)
    wants_json = "--json" in words
    words = [w for w in words if w != "--json"]
    command, parser, rest = _command(top, words)
    module = command.load()
    module.add_arguments(parser)
    parser.epilog = "\n\n".join(filter(None, (parser.epilog, "--json prints one JSON document")))
    args = parser.parse_args(rest, namespace=args)
    args.json = wants_json
    args.problems = args.warnings = tuple  # an opened desk puts its own here
    args.book = None
    try:
        code = module.run(args)
    except PassphraseNeededError as locked:  # nothing was done yet: a store is opened first
        from fieldnotes.cli.passphrase import let_in  # noqa: PLC0415  (few stores are locked)

        let_in(locked.store)
        code = module.run(args)
    if args.book is not None and args.book.wrote:
        from fieldnotes.cli.opening import seal_the_day  # noqa: PLC0415  (only after a write)

        seal_the_day(args)
    for warning in args.warnings():
        say(f"fieldnotes: ! {warning}")
    for problem in args.problems():
        say(f"fieldnotes: not read: {problem}")
    return code


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line and give the exit code."""
    try:
        return _run(list(sys.argv[1:] if argv is None else argv))
    except FieldnotesError as error:
        say(f"fieldnotes: {error}")
        return error.exit_code
    except BrokenPipeError:
        sys.stderr.close()
        return 1
    except (KeyboardInterrupt, EOFError):  # the end of input at a question is a no as well
        return 130
