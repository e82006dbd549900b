"""`fieldnotes plan REF [WHAT TASK]`: a case's follow-ups, what became of one, one set by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec

from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import day, moment, open_desk
from fieldnotes.cli.text import columns
from fieldnotes.domain.entries import FollowUpOutcome, Outcome, TaskAdded
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.followups import Doer, short_names
from fieldnotes.domain.text import clean

if TYPE_CHECKING:
    import argparse

    from fieldnotes.casework.aftercare import Aftercare
    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.followups import FollowUp

ADD = "add"
OUTCOMES = {o.value.replace(" ", "-"): o for o in Outcome}
GOES_WITH = {
    "to": ("moved",),
    "result": ("done",),
    "told": ("done",),
    "on": tuple(OUTCOMES),
    "who": tuple(OUTCOMES),
    "due": (ADD,),
    "earliest": (ADD,),
    "latest": (ADD,),
    "by": (ADD,),
    "wound": (ADD,),
    "reason": (ADD, *OUTCOMES),
}
FIELDS = {"moved_to": "--to", "appointment": "--to", "task": "TASK", "what": "TASK"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the case, what became of a task, and a task set by hand."""
    parser.add_argument("ref", metavar="REF", help="the case, or any unique beginning of it")
    parser.add_argument(
        "say", metavar="WHAT", nargs="?", choices=(*OUTCOMES, ADD),
        help=f"what became of a task ({', '.join(OUTCOMES)}), or '{ADD}'; without: the plan",
    )  # fmt: skip
    parser.add_argument(
        "task", metavar="TASK", nargs="?", default="",
        help=f"as the plan names it, or its key; with '{ADD}' what is to be done",
    )  # fmt: skip
    parser.add_argument("--on", metavar="D", help="the day it was done or missed (default today)")
    parser.add_argument("--to", metavar="D", help="moved to this day, or day and time")
    parser.add_argument("--who", metavar="NAME", default="", help="who did, moved or cancelled it")
    parser.add_argument("--reason", metavar="TEXT", default="")
    parser.add_argument("--result", metavar="TEXT", default="", help="of a sample or radiograph")
    parser.add_argument("--told", action="store_true", help="the owner was told the result")
    parser.add_argument("--due", metavar="D", help="of a task set by hand")
    parser.add_argument("--earliest", metavar="D", help="default the day it is due")
    parser.add_argument("--latest", metavar="D", help="default the day it is due")
    parser.add_argument("--by", choices=tuple(d.value for d in Doer), help="default vet")
    parser.add_argument("--wound", metavar="A", action="append", help="which wound; repeatable")


def run(args: argparse.Namespace) -> int:
    """Print the plan, or record what became of a task or a new one."""
    for name, verbs in GOES_WITH.items():
        if getattr(args, name) and args.say not in verbs:
            raise RefusedInputError(f"--{name}", f"this goes with: {', '.join(verbs)}")
    desk = open_desk(args)
    if args.say is None:
        _print_plan(desk, args)
        return 0
    try:
        saved = _added(desk, args) if args.say == ADD else _settled(desk, args)
    except RefusedInputError as error:
        field = FIELDS.get(error.field, f"--{error.field}")
        raise RefusedInputError(field, error.reason) from error
    changed = desk.aftercare.changes(saved.ref)
    if args.json:
        emit_json({"case": saved.ref, "id": saved.entries[0], "changes": list(changed)})
    else:
        print(clean("\n".join((saved.entries[0], *(f"  {line}" for line in changed)))))
    return 0


def _settled(desk: Casework, args: argparse.Namespace) -> Saved:
    timed = args.to is not None and len(args.to) > len("2026-03-02")
    said = FollowUpOutcome(
        args.task, OUTCOMES[args.say], day(args.on, "--on") or desk.today(),
        None if timed else day(args.to, "--to"), moment(args.to, "--to") if timed else None,
        told_owner=args.told, who=args.who, reason=args.reason, result=args.result,
    )  # fmt: skip
    return desk.aftercare.settle(args.ref, said)


def _added(desk: Casework, args: argparse.Namespace) -> Saved:
    due = day(args.due, "--due")
    if due is None:
        raise RefusedInputError("due", "on which day is it due?")
    first, last = day(args.earliest, "--earliest") or due, day(args.latest, "--latest") or due
    by, wounds = args.by or Doer.VET.value, tuple(args.wound or ())
    return desk.aftercare.add(
        args.ref, TaskAdded(args.task, by, first, due, last, wounds, args.reason)
    )


def _print_plan(desk: Casework, args: argparse.Namespace) -> None:
    """Print the plan with its reasons, and the changes."""
    file, aftercare = desk.file(args.ref), desk.aftercare
    if args.json:
        document = {
            "case": file.case.ref,
            "plan": msgspec.to_builtins(file.plan),
            "changes": list(aftercare.changes(file.case.ref)),
            "withdrawn": msgspec.to_builtins(aftercare.withdrawn(file.case.ref)),
        }
        emit_json(document)
        return
    names = short_names(file.plan)
    rows = [_row(name, task) for name, task in zip(names, file.plan, strict=True)]
    heads = ("task", "window", "due", "by", "wound", "what", "why", "source")
    print(columns(heads, rows) if rows else "Nothing is due.")
    print(clean("\n".join(after_lines(aftercare, file.case.ref))))


def _row(name: str, task: FollowUp) -> tuple[str, ...]:
    window = f"{task.earliest:%d %b} - {task.latest:%d %b}"
    why = ". ".join(x for x in (task.reason, task.note) if x)
    due = f"{task.due:%a %d %b}"
    return (name, window, due, task.by.value, ", ".join(task.wounds), task.what, why, task.source)


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
