"""`fieldnotes flags list REF | answer REF FLAG ANSWER`: what is flagged, and what is said to it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldnotes.casework.at_a_glance import raised
from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import open_desk
from fieldnotes.cli.text import columns

if TYPE_CHECKING:
    import argparse

    from fieldnotes.casework.at_a_glance import Raised
    from fieldnotes.casework.views import CaseFile
    from fieldnotes.clinical.flags import Flag
    from fieldnotes.domain.entries import FlagAnswered


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare list and answer."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="list|answer")
    listing = actions.add_parser("list", help="flags with rule, numbers and source")
    listing.add_argument("ref", metavar="REF", nargs="?", help="one case (default all open ones)")
    answer = actions.add_parser("answer", help="answer a flag; it returns when it gets worse")
    answer.add_argument("ref", metavar="REF")
    answer.add_argument("flag", metavar="FLAG", help="as 'flags list' names it")
    answer.add_argument("answer", metavar="ANSWER", help="accepted, wait or 'not applicable'")
    answer.add_argument("--wound", metavar="A", default="A", help="which wound (default A)")
    answer.add_argument("--reason", metavar="TEXT", default="", help="why; it is needed")


def run(args: argparse.Namespace) -> int:
    """List the flags, or answer one."""
    return _list(args) if args.action == "list" else _answer(args)


def flag_documents(file: CaseFile) -> list[dict[str, Any]]:
    """Give every flag of a case with its answer; null where none stands."""
    found = []
    for wound in file.wounds:
        pairs = [(flag, None) for flag in wound.flags] + list(wound.answered)
        found += [_document(wound.wound.label, flag, answer) for flag, answer in pairs]
    return found


def _document(wound: str, flag: Flag, answer: FlagAnswered | None) -> dict[str, Any]:
    return {
        "wound": wound,
        "flag": flag.flag,
        "urgency": flag.urgency.value,
        "why": flag.why,
        "rule": flag.rule,
        "source": flag.source,
        "level": flag.level,
        "answer": {"answer": answer.answer, "reason": answer.reason} if answer else None,
    }


def raised_document(found: Raised) -> dict[str, Any]:
    """Give a flag that stands, with its case and horse."""
    about = {"case": found.case, "horse": found.horse}
    return about | _document(found.wound, found.flag, None)


def _list_open(args: argparse.Namespace) -> int:
    desk = open_desk(args)
    found = raised(desk.file(case.ref) for case in desk.find_cases(status="open"))
    if args.json:
        emit_json([raised_document(r) for r in found])
        return 0
    rows = [(r.case, r.horse, r.wound, r.flag.flag, r.flag.urgency, r.flag.why) for r in found]
    heads = ("case", "horse", "wound", "flag", "urgency", "why")
    print(columns(heads, rows) if rows else "Nothing is flagged.")
    return 0


def _list(args: argparse.Namespace) -> int:
    if args.ref is None:
        return _list_open(args)
    documents = flag_documents(open_desk(args).file(args.ref))
    if args.json:
        emit_json(documents)
        return 0
    rows = [
        (d["wound"], d["flag"], d["urgency"], _said(d["answer"]), d["why"], d["source"])
        for d in documents
    ]
    heads = ("wound", "flag", "urgency", "answer", "why", "source")
    print(columns(heads, rows) if rows else "Nothing is flagged.")
    return 0


def _said(answer: dict[str, str] | None) -> str:
    return f"{answer['answer']}: {answer['reason']}" if answer else "-"


def _answer(args: argparse.Namespace) -> int:
    desk = open_desk(args)
    saved = desk.aftercare.answer(args.ref, args.flag, args.wound, args.answer, args.reason)
    if args.json:
        emit_json({"case": saved.ref, "id": saved.entries[0]})
    else:
        print(saved.entries[0])
    return 0
