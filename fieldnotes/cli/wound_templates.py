"""`fieldnotes templates wounds ...`: the practice's templates of common wounds, which F8 offers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldnotes.casework.wound_templates import FORMS, Taken, WoundTemplates
from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import file_bytes, open_desk, write_out
from fieldnotes.cli.text import columns
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.text import clean_line
from fieldnotes.storage.wound_template_file import read_file, written_file

if TYPE_CHECKING:
    import argparse

    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.wound_templates import WoundTemplate

MOST_FAULTS = 20
NONE_YET = "No template is kept yet: ^t in a first visit or a recheck keeps one."


def add_actions(parser: argparse.ArgumentParser) -> None:
    """Declare list, show, rename, remove, export and import."""
    words = "list|show|rename|remove|export|import"
    actions = parser.add_subparsers(dest="what", required=True, metavar=words)
    actions.add_parser("list", help="every template, the form it is for, how many answers")
    show = actions.add_parser("show", help="a template's answers, field by field")
    rename = actions.add_parser("rename", help="call a template otherwise")
    remove = actions.add_parser("remove", help="take a template off the list")
    for each in (show, rename, remove):
        each.add_argument("template", metavar="NAME", help="its name, or the beginning of it")
    rename.add_argument("name", metavar="NEW", help="the name it has from now on")
    export = actions.add_parser("export", help="all, or those named, as a JSON file")
    export.add_argument("templates", metavar="NAME", nargs="*")
    export.add_argument("--output", metavar="FILE", help="write here (default stdout)")
    into = actions.add_parser("import", help="take in the templates of a JSON file, all or none")
    into.add_argument("file", metavar="FILE")
    into.add_argument("--dry-run", action="store_true", help="show what it comes to, write nothing")
    into.add_argument(
        "--replace", action="store_true", help="let the file's stand for those of the same name"
    )


def run_wounds(args: argparse.Namespace) -> int:
    """Carry out one action."""
    ours = WoundTemplates(open_desk(args))
    match args.what:
        case "list":
            return _list(args, ours.all())
        case "show":
            return _show(args, ours.named(args.template))
        case "rename":
            return _saved(args, ours.rename(ours.named(args.template), args.name))
        case "remove":
            return _saved(args, ours.remove(ours.named(args.template)))
        case "export":
            chosen = tuple(map(ours.named, args.templates)) or ours.all()
            write_out(written_file(chosen), args.output)
            return 0
        case _:
            return _import(args, ours)


def template_document(template: WoundTemplate) -> dict[str, Any]:
    """Give a template as JSON."""
    return {
        "id": template.id,
        "name": template.name,
        "form": template.form,
        "answers": dict(template.answers),
    }


def _list(args: argparse.Namespace, found: tuple[WoundTemplate, ...]) -> int:
    if args.json:
        emit_json([template_document(t) for t in found])
        return 0
    rows = [(t.name, FORMS.get(t.form, t.form), str(len(t.answers))) for t in found]
    print(columns(("template", "for", "answers"), rows) if rows else NONE_YET)
    return 0


def _show(args: argparse.Namespace, template: WoundTemplate) -> int:
    if args.json:
        emit_json(template_document(template))
        return 0
    print(f"{clean_line(template.name)}, for a {FORMS.get(template.form, template.form)}")
    print(columns(("field", "answer"), template.answers))
    return 0


def _saved(args: argparse.Namespace, saved: Saved) -> int:
    if args.json:
        emit_json({"entry": saved.entries[0]})
    else:
        print(saved.entries[0])
    return 0


def _import(args: argparse.Namespace, ours: WoundTemplates) -> int:
    """Show every line that is wrong and write nothing, or take all of the file in."""
    read = read_file(file_bytes(args.file), args.file)
    taken = ours.judge(read.templates, replacing=args.replace)
    faults = [f"{p.field}: {p.message}" for p in read.problems] + [
        f"{args.file}, template {row}: {each.refused}"
        for (row, _), each in zip(read.rows, taken, strict=True)
        if each.refused
    ]
    if faults:
        more = [f"and {len(faults) - MOST_FAULTS} more"] if len(faults) > MOST_FAULTS else []
        raise RefusedInputError("", "\n".join([*faults[:MOST_FAULTS], *more]))
    written = 0 if args.dry_run else ours.take_in(taken)
    return _told(args, taken, written)


def _told(args: argparse.Namespace, taken: tuple[Taken, ...], written: int) -> int:
    if args.json:
        states = [{"name": t.template.name, "state": t.state} for t in taken]
        emit_json({"templates": states, "written": written})
        return 0
    rows = [(t.template.name, t.state, str(len(t.template.answers))) for t in taken]
    print(columns(("template", "state", "answers"), rows))
    print("checked, nothing written" if args.dry_run else f"{written} written")
    return 0
