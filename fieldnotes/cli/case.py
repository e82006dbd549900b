"""`fieldnotes case list | show REF | export REF`."""

from __future__ import annotations

import datetime as dt
import json
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import msgspec

from fieldnotes.casework.closing_time import seen_after
from fieldnotes.cli.command import emit_json
from fieldnotes.cli.flags import flag_documents
from fieldnotes.cli.opening import open_desk, write_out
from fieldnotes.cli.plan import after_lines
from fieldnotes.cli.text import columns, local, show_case
from fieldnotes.domain.text import clean

if TYPE_CHECKING:
    import argparse

    from fieldnotes.casework.caution import Caution
    from fieldnotes.casework.views import CaseFile, CaseSummary
    from fieldnotes.clinical.clearance import Clearance


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare list, show and export."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="list|show|export")
    listing = actions.add_parser("list", help="open and closed cases, newest injury first")
    listing.add_argument("--owner", default="", help="part of an owner's name")
    listing.add_argument("--horse", default="", help="part of a horse's name")
    listing.add_argument("--text", default="", help="words found anywhere in the record")
    state = listing.add_mutually_exclusive_group()
    state.add_argument("--open", dest="status", action="store_const", const="open", default="")
    state.add_argument("--closed", dest="status", action="store_const", const="ended")
    show = actions.add_parser("show", help="one case: wounds, course, plan, entries")
    show.add_argument("ref", metavar="REF")
    show.add_argument("--map", action="store_true", help="with the body map, wounds marked")
    export = actions.add_parser("export", help="one case's entries as JSON, as on disk")
    export.add_argument("ref", metavar="REF")
    export.add_argument("--output", metavar="FILE")


def run(args: argparse.Namespace) -> int:
    """Carry out list, show or export."""
    if args.action == "list":
        return _list(args)
    if args.action == "show":
        return _show(args)
    return _export(args)


def summary_document(summary: CaseSummary) -> dict[str, Any]:
    """Give a case list row as design.md section 4 names its keys."""
    line = summary.line
    return {
        "ref": line.ref,
        "horse": summary.horse,
        "owner": summary.owner,
        "premises": summary.premises,
        "opened": line.opened.astimezone(line.injured_at.tzinfo).date().isoformat(),
        "injured_at": line.injured_at.isoformat(),
        "status": line.status.value,
        "on_hold": line.on_hold,
        "wounds": msgspec.to_builtins(line.wounds),
    }


def _list(args: argparse.Namespace) -> int:
    desk = open_desk(args)
    found = desk.find_cases(args.text, owner=args.owner, horse=args.horse, status=args.status)
    if args.json:
        emit_json([summary_document(s) for s in found])
        return 0
    now = desk.now()  # once: each time the store is looked at anew
    rows = [
        (
            s.ref,
            s.horse,
            s.owner,
            s.premises,
            f"{local(s.line.injured_at, now):%d %b %Y}",
            s.line.status.value,
            ", ".join(f"{w.label} {w.region}" for w in s.line.wounds),
        )
        for s in found
    ]
    print(columns(("ref", "horse", "owner", "premises", "injured", "status", "wounds"), rows))
    return 0


def case_document(file: CaseFile, documents: tuple[dict[str, Any], ...]) -> dict[str, Any]:
    """Give the folded case with its entries, amendments beside what they amend."""
    case = file.case
    amendments = [d for d in documents if d["kind"] == "amendment"]
    return {
        "ref": case.ref,
        "horse": file.horse.name,
        "owner": file.owner.name if file.owner else "",
        "premises": file.premises.name if file.premises else "",
        "opened": case.opened_at.astimezone(case.opened.injured_at.tzinfo).date().isoformat(),
        "injured_at": case.opened.injured_at.isoformat(),
        "status": case.status.value,
        "on_hold": case.on_hold,
        "referred": case.referred.value if case.referred else None,
        "responsible": case.responsible,
        "on_call": case.on_call,
        "age_at_first_visit": _age_document(file),
        "mechanism": case.opened.mechanism,
        "history": case.opened.history,
        "missing": list(file.missing),
        "patient": msgspec.to_builtins(file.horse),
        "wounds": msgspec.to_builtins(case.wounds),
        "visits": [msgspec.to_builtins(v.body) for v in case.visits],
        "flags": flag_documents(file),
        "plan": msgspec.to_builtins(file.plan),
        "entries": [
            _entry_document(d, amendments, ZoneInfo(file.practice.zone)) for d in documents
        ],
    }


def _age_document(file: CaseFile) -> dict[str, Any] | None:
    seen = seen_after(file.case)
    if seen is None:
        return None
    hours, found = seen
    about = file.case.opened.injured_about
    return {"hours": hours, "about": about, "class": found.number, "means": found.means,
            "advice": found.advice, "source": found.source}  # fmt: skip


def _when(document: dict[str, Any], zone: ZoneInfo) -> str:
    return dt.datetime.fromisoformat(document["time"]).astimezone(zone).isoformat()


def _entry_document(
    document: dict[str, Any], amendments: list[dict[str, Any]], zone: ZoneInfo
) -> dict[str, Any]:
    beside = [
        {"id": a["id"], "when": _when(a, zone), "by": a["author"], **a["body"]}
        for a in amendments
        if a["body"].get("of") == document["id"]
    ]
    return {
        "id": document["id"],
        "kind": document["kind"],
        "when": _when(document, zone),
        "by": document["author"],
        **({"text": document["body"]["text"]} if "text" in document["body"] else {}),
        "body": document["body"],
        "sha256": document["sha256"],
        "amendments": beside,
    }


def _show(args: argparse.Namespace) -> int:
    desk = open_desk(args)
    file = desk.file(args.ref)
    cautions, times = desk.cautions(file.case.ref), desk.clearances(file.case.ref)
    if args.json:
        document = case_document(file, desk.documents(args.ref))
        document["cautions"] = msgspec.to_builtins(cautions)
        document["clearances"] = msgspec.to_builtins(times)
        document["plan_changes"] = list(desk.aftercare.changes(file.case.ref))
        document["withdrawn"] = msgspec.to_builtins(desk.aftercare.withdrawn(file.case.ref))
        emit_json(document)
        return 0
    print(show_case(file, desk.now()))
    shown = after_lines(desk.aftercare, file.case.ref)
    shown += [*_caution_lines(cautions), *_clearance_lines(times, file, desk.now())]
    if shown:
        print(clean("\n".join(("", *shown))))
    if args.map:
        _print_maps(file)
    return 0


def _print_maps(file: CaseFile) -> None:
    """Print each view that shows a wound; this room loads the drawings only when asked."""
    from fieldnotes.casework.drawings import marked_views  # noqa: PLC0415  (heavy, seldom needed)
    from fieldnotes.cli.pictures import map_text  # noqa: PLC0415  (heavy, seldom needed)
    from fieldnotes.rendering.bodymap.scene import Scene  # noqa: PLC0415  (heavy, seldom needed)

    for view, marks in marked_views(file):
        print(f"\n{view.title}\n{clean(map_text(Scene(view, wounds=marks)))}", end="")


def _caution_lines(cautions: tuple[Caution, ...]) -> list[str]:
    """Give what stands of the last visit, notes left out."""
    pressing = [c for c in cautions if c.level != "note"]
    if not pressing:
        return []
    words = {"warn": "", "block": "passed with a reason: "}
    return ["cautions", *(f"  {words[c.level]}{c.why}  ({c.source})" for c in pressing)]


def _clearance_lines(times: tuple[Clearance, ...], file: CaseFile, now: dt.datetime) -> list[str]:
    """Give the times that run for a horse that competes; a margin is the vet's to add."""
    if not file.horse.competes or not times:
        return []
    head = "may be found at a competition until (no withdrawal time: add a margin)"
    own = file.horse.governing_body
    return [
        f"{head}, under the rules of {own}" if own else head,
        *(f"  {local(t.until, now):%d %b %Y %H:%M}  {t.name}, {t.body}"
          f"{'' if t.own or not own else ' (another body)'}" for t in times),
    ]  # fmt: skip


def _export(args: argparse.Namespace) -> int:
    desk = open_desk(args)
    ref = desk.case(args.ref).ref
    document = {"format": "fieldnotes-entries", "case": ref, "entries": desk.documents(ref)}
    text = json.dumps(document, ensure_ascii=False, indent=2) + "\n"
    write_out(text.encode("utf-8"), args.output)
    return 0
