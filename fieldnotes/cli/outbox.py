"""`fieldnotes outbox list | send | show | again | sent | withdraw`: mail goes only when told to."""

from __future__ import annotations

import getpass
import os
import sys
from typing import TYPE_CHECKING, Any

import msgspec

from fieldnotes.cli.command import emit_json, say
from fieldnotes.cli.opening import data_folder, open_desk, write_out
from fieldnotes.cli.text import columns
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.mail import IMPLICIT_TLS_PORT, MailServer, MailState
from fieldnotes.storage.outbox import Outbox

if TYPE_CHECKING:
    import argparse

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.ports import Mail

DECIDED = {"again": MailState.QUEUED, "sent": MailState.SENT}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what can be done with mail."""
    actions = parser.add_subparsers(
        dest="action", required=True, metavar="list|send|show|again|sent|withdraw"
    )
    actions.add_parser("list", help="all mail with its state")
    sending = actions.add_parser("send", help="hand queued mail to the mail server")
    sending.add_argument("--dry-run", action="store_true", help="say what would be sent")
    sending.add_argument("--host", help="another mail server than the practice's, this once")
    sending.add_argument("--port", type=int, help="465, or a port with STARTTLS")
    sending.add_argument("--user", default="", help="user name; the password is asked for")
    show = actions.add_parser("show", help="a mail's exact bytes, for any mail program")
    show.add_argument("mail", metavar="ID", help="its id, or the beginning of it")
    show.add_argument("--output", metavar="FILE")
    for name, help_text in (
        ("again", "queue a failed or unconfirmed mail again"),
        ("sent", "call an unconfirmed mail sent"),
    ):
        decided = actions.add_parser(name, help=help_text)
        decided.add_argument("mail", metavar="ID", help="its id, or the beginning of it")
    withdraw = actions.add_parser("withdraw", help="queue a CANCEL of a case's calendar")
    withdraw.add_argument("ref", metavar="REF")


def run(args: argparse.Namespace) -> int:
    """Carry out one action."""
    desk = open_desk(args)
    if args.action == "list":
        return _list(desk, as_json=args.json)
    if args.action == "send":
        return _send(desk, args)
    if args.action == "show":
        write_out(_bytes(args), args.output)
        return 0
    if args.action == "withdraw":
        desk.post.withdraw(args.ref)
        say("Queued: 'fieldnotes outbox send' takes the dates out of the owner's calendar.")
        return 0
    return _report(
        [_document(desk.post.mailroom().decide(args.mail, DECIDED[args.action]), "")], args
    )


def _bytes(args: argparse.Namespace) -> bytes:
    outbox = Outbox(data_folder(args))
    found = [m.id for m in outbox.list() if m.id.startswith(args.mail)]
    if len(found) != 1:
        raise RefusedInputError("ID", f"{len(found)} mails begin with '{args.mail}'")
    return outbox.message(found[0])


def _send(desk: Casework, args: argparse.Namespace) -> int:
    room = desk.post.mailroom()
    queued = [m for m in desk.post.outbox() if m.state is MailState.QUEUED]
    if args.dry_run:
        found = [(m, room.held(m)) for m in queued]
        return _report(
            [_document(m, why) | {"would_send": not why, "held": why} for m, why in found], args
        )
    if not any(m.state in {MailState.QUEUED, MailState.SENDING} for m in desk.post.outbox()):
        return _report([], args)
    server = _server(desk, args)
    password = _password(desk, server)
    done = room.send(server, password, None if args.json else _progress)
    code = _report([_document(mail, room.held(mail)) for mail in done], args)
    return code if all(mail.state is MailState.SENT for mail in done) else 1


def _progress(done: int, of: int) -> bool:
    if done < of:
        say(f"Sending {done + 1} of {of} ...")
    return True


def _server(desk: Casework, args: argparse.Namespace) -> MailServer:
    host = args.host or os.environ.get("FIELDNOTES_SMTP_HOST", "")
    if host:
        return MailServer(host, args.port or IMPLICIT_TLS_PORT, args.user)
    found = desk.practice().mail_server
    if found is None:
        raise RefusedInputError(
            "--host", "which mail server? Set it: fieldnotes mail set --host HOST --user USER"
        )
    return MailServer(found.host, args.port or found.port, args.user or found.user, found.sender)


def _password(desk: Casework, server: MailServer) -> str:
    if not server.user:
        return ""
    kept = desk.post.password(server)
    return kept if kept is not None else asked_password(server)


def asked_password(server: MailServer) -> str:
    """Ask for a password at the terminal; RefusedInputError where there is none."""
    if not sys.stdin.isatty():
        raise RefusedInputError(
            "password", "none is in the keyring, and it can only be asked for at a terminal"
        )
    return getpass.getpass(f"Password of {server.user} at {server.host}: ")


def _document(mail: Mail, why: str) -> dict[str, Any]:
    return dict(msgspec.to_builtins(mail)) | ({"detail": why} if why else {})


def _list(desk: Casework, *, as_json: bool) -> int:
    room = desk.post.mailroom()
    found = [(m, room.held(m) if m.state is MailState.QUEUED else "") for m in desk.post.outbox()]
    if as_json:
        emit_json([_document(m, why) for m, why in found])
        return 0
    rows = [
        (m.state.value, m.case, ", ".join(m.recipients), m.id[:8], why or m.detail)
        for m, why in found
    ]
    print(columns(("state", "case", "to", "id", "last answer"), rows) if rows else "No mail.")
    return 0


def _report(documents: list[dict[str, Any]], args: argparse.Namespace) -> int:
    if args.json:
        emit_json(documents)
        return 0
    for document in documents:
        say(
            f"{', '.join(document['recipients'])}: {document['state']} {document['detail']}".strip()
        )
    if not documents:
        say("Nothing is queued.")
    return 0
