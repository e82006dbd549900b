"""`fieldnotes rules`: the follow-up rules in force, changing one, settling what sources dispute."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldnotes.casework.rulebook import RuleBook
from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import open_desk
from fieldnotes.cli.text import columns
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.rulebook import RuleChange, RuleFact

if TYPE_CHECKING:
    import argparse

    from fieldnotes.casework.rulebook import DisputeLine, RuleLine
    from fieldnotes.casework.views import Saved
    from fieldnotes.knowledge.rules import Condition


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare list, show, set, reset, disputes and settle."""
    words = "list|show|set|reset|disputes|settle"
    actions = parser.add_subparsers(dest="action", required=True, metavar=words)
    actions.add_parser("list", help="every rule with window, who and source")
    show = actions.add_parser("show", help="one rule in full")
    show.add_argument("rule", metavar="RULE")
    _set_arguments(actions.add_parser("set", help="change a rule, or add one of your own"))
    reset = actions.add_parser("reset", help="put a rule back as shipped")
    reset.add_argument("rule", metavar="RULE")
    reset.add_argument("--reason", metavar="TEXT", default="")
    actions.add_parser("disputes", help="figures the sources dispute, and which is in force")
    settle = actions.add_parser("settle", help="go by one of the disputed figures")
    settle.add_argument("dispute", metavar="DISPUTE")
    settle.add_argument("choice", metavar="CHOICE")
    settle.add_argument("--reason", metavar="TEXT", default="")


def _set_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("rule", metavar="RULE", help="a rule's id; a new id makes a new rule")
    parser.add_argument("--window", metavar="E,D,L", help="days: earliest, due, latest")
    parser.add_argument("--by", choices=("vet", "owner", "changer"), default="")
    parser.add_argument("--off", action="store_true", help="leave the rule out")
    parser.add_argument("--what", metavar="TEXT", default="")
    parser.add_argument("--owner-words", metavar="TEXT", default="")
    parser.add_argument("--kind", metavar="KIND", default="", help="of a new rule, e.g. recheck")
    parser.add_argument("--anchor", metavar="EVENT", default="", help="of a new rule, e.g. closed")
    parser.add_argument("--every", metavar="DAYS", type=int, help="repeat every so many days")
    parser.add_argument("--until", metavar="DAYS", type=int, help="repeat until this day")
    parser.add_argument("--urgency", metavar="U", default="", help="now, same day or next visit")
    parser.add_argument("--when", metavar="FACT=A,B", action="append", default=[])
    parser.add_argument("--unless", metavar="FACT=A,B", action="append", default=[])
    parser.add_argument("--done-by", metavar="EVENT,EVENT", default="")
    parser.add_argument("--reason", metavar="TEXT", default="", help="why; it is needed")


def run(args: argparse.Namespace) -> int:
    """Carry out one of the six."""
    book = RuleBook(open_desk(args))
    match args.action:
        case "list":
            return _list(args, book.rules())
        case "show":
            return _show(args, book.rule(args.rule))
        case "disputes":
            return _disputes(args, book.disputes())
        case "set":
            return _saved(args, book.set(_change(args)))
        case "reset":
            return _saved(args, book.reset(args.rule, args.reason))
        case _:
            return _saved(args, book.settle(args.dispute, args.choice, args.reason))


def _saved(args: argparse.Namespace, saved: Saved) -> int:
    if args.json:
        emit_json({"id": saved.entries[0]})
    else:
        print(saved.entries[0])
    return 0


def _change(args: argparse.Namespace) -> RuleChange:
    return RuleChange(
        id=args.rule,
        off=args.off,
        kind=args.kind,
        what=args.what,
        owner_words=args.owner_words,
        by=args.by,
        anchor=args.anchor,
        window_days=_window(args.window),
        every_days=args.every,
        until_days=args.until,
        urgency=args.urgency,
        when=tuple(_fact("--when", text) for text in args.when),
        unless=tuple(_fact("--unless", text) for text in args.unless),
        done_by=_words(args.done_by),
        reason=args.reason,
    )


def _words(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(",") if part.strip())


def _window(text: str | None) -> tuple[int, ...]:
    try:
        return tuple(int(part) for part in _words(text or ""))
    except ValueError as error:
        raise RefusedInputError("--window", f"'{text}' is not three days like 2,3,7") from error


def _fact(name: str, text: str) -> RuleFact:
    fact, equals, words = text.partition("=")
    if not equals or not _words(words):
        raise RefusedInputError(name, f"'{text}' is not like group=head,neck")
    return RuleFact(fact.strip(), _words(words))


def _facts(conditions: tuple[Condition, ...]) -> dict[str, list[str]]:
    return {c.fact: list(c.any_of) for c in conditions}


def rule_document(line: RuleLine) -> dict[str, Any]:
    """Give a rule with everything that decides when it applies."""
    rule = line.rule
    return {
        "id": rule.id,
        "state": line.state,
        "kind": rule.kind,
        "what": rule.what,
        "owner_words": rule.owner_words,
        "by": rule.by,
        "anchor": rule.anchor,
        "window_days": list(line.window),
        "every_days": rule.every_days,
        "until_days": rule.until_days,
        "when": _facts(rule.when),
        "unless": _facts(rule.unless),
        "done_by": list(rule.done_by),
        "urgency": rule.urgency.value,
        "source": rule.source,
        "note": rule.note,
        "changed_by": line.change.set_by if line.change else None,
        "reason": line.change.reason if line.change else None,
    }


def _list(args: argparse.Namespace, lines: tuple[RuleLine, ...]) -> int:
    if args.json:
        emit_json([rule_document(line) for line in lines])
        return 0
    rows = [
        (
            line.rule.id,
            line.state,
            line.rule.by,
            "-".join(map(str, line.window)),
            line.rule.anchor,
            line.rule.what,
            line.rule.source,
        )
        for line in lines
    ]
    print(columns(("rule", "state", "by", "days", "after", "what", "source"), rows))
    return 0


def _show(args: argparse.Namespace, line: RuleLine) -> int:
    document = rule_document(line)
    if args.json:
        emit_json(document)
        return 0
    shown = ((key, value) for key, value in document.items() if value not in (None, "", [], {}))
    print(columns(("", ""), [(key.replace("_", " "), _plain(value)) for key, value in shown]))
    return 0


def _plain(value: object) -> str:
    if isinstance(value, dict):
        return "; ".join(f"{key}: {_plain(words)}" for key, words in value.items())
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def _disputes(args: argparse.Namespace, lines: tuple[DisputeLine, ...]) -> int:
    documents = [_dispute_document(line) for line in lines]
    if args.json:
        emit_json(documents)
        return 0
    rows = [
        (line.dispute.id, "in force" if option == line.chosen else "", option.id, option.words,
         option.source)
        for line in lines
        for option in line.dispute.options
    ]  # fmt: skip
    print(columns(("dispute", "", "choice", "says", "source"), rows))
    return 0


def _dispute_document(line: DisputeLine) -> dict[str, Any]:
    return {
        "id": line.dispute.id,
        "topic": line.dispute.topic,
        "in_force": line.chosen.id,
        "settled_by": line.settled.set_by if line.settled else None,
        "reason": line.settled.reason if line.settled else None,
        "options": [
            {"id": o.id, "says": o.words, "source": o.source} for o in line.dispute.options
        ],
    }
