"""`fieldnotes plan REF`: a case's follow-ups, and what the newest entry changed in them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import open_desk
from fieldnotes.cli.text import columns
from fieldnotes.domain.text import clean

if TYPE_CHECKING:
    import argparse

    from fieldnotes.casework.aftercare import Aftercare
    from fieldnotes.domain.followups import FollowUp


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the case."""
    parser.add_argument("ref", metavar="REF", help="the case, or any unique beginning of it")


def run(args: argparse.Namespace) -> int:
    """Print the plan with its reasons, and the changes."""
    desk = open_desk(args)
    file, aftercare = desk.file(args.ref), desk.aftercare
    if args.json:
        document = {
            "case": file.case.ref,
            "plan": msgspec.to_builtins(file.plan),
            "changes": list(aftercare.changes(file.case.ref)),
            "withdrawn": msgspec.to_builtins(aftercare.withdrawn(file.case.ref)),
        }
        emit_json(document)
        return 0
    rows = [_row(task) for task in file.plan]
    heads = ("window", "due", "by", "wound", "what", "why", "source")
    print(columns(heads, rows) if rows else "Nothing is due.")
    print(clean("\n".join(after_lines(aftercare, file.case.ref))))
    return 0


def _row(task: FollowUp) -> tuple[str, ...]:
    window = f"{task.earliest:%d %b} - {task.latest:%d %b}"
    why = ". ".join(x for x in (task.reason, task.note) if x)
    due = f"{task.due:%a %d %b}"
    return (window, due, task.by.value, ", ".join(task.wounds), task.what, why, task.source)


def after_lines(aftercare: Aftercare, ref: str) -> list[str]:
    """Give what the newest entry changed in the plan, else what stands withdrawn, as text."""
    lines: list[str] = []
    changed = aftercare.changes(ref)
    if changed:
        lines += ["", "the last entry changed in the plan", *(f"  {line}" for line in changed)]
    gone = aftercare.withdrawn(ref)
    if gone and not changed:
        lines += ["", "withdrawn"]
        lines += [f"  {t.due:%d %b}  {t.by.value:<5}  {t.what}" for t in gone]
    return lines
