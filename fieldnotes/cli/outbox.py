"""`fieldnotes outbox list | send [--dry-run]`: queued mail, handed over only when told to."""

from __future__ import annotations

import getpass
import os
import sys
from typing import TYPE_CHECKING, Any

import msgspec

from fieldnotes.cli.command import emit_json, say
from fieldnotes.cli.opening import clock_of, data_folder, open_desk
from fieldnotes.cli.text import columns
from fieldnotes.delivery import Attempt, Outcome, ServerSettings, send
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.storage.outbox import Mail, MailState, Outbox

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

STATE_AFTER = {
    Outcome.SENT: MailState.SENT,
    Outcome.RETRY: MailState.QUEUED,
    Outcome.REFUSED: MailState.FAILED,
    Outcome.UNCONFIRMED: MailState.UNCONFIRMED,
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare list and send."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="list|send")
    actions.add_parser("list", help="all mail with its state")
    sending = actions.add_parser("send", help="hand queued mail to the mail server")
    sending.add_argument("--dry-run", action="store_true", help="say what would be sent")
    sending.add_argument("--host", help="mail server (or FIELDNOTES_SMTP_HOST)")
    sending.add_argument("--port", type=int, default=465, help="465, or a port with STARTTLS")
    sending.add_argument("--user", default="", help="user name; the password is asked for")


def run(args: argparse.Namespace) -> int:
    """List or send."""
    desk = open_desk(args)
    outbox = Outbox(data_folder(args))
    if args.action == "list":
        return _list(outbox, as_json=args.json)
    queued = [mail for mail in outbox.list() if mail.state is MailState.QUEUED]
    if args.dry_run:
        return _report([{**_document(mail), "would_send": True} for mail in queued], args)
    settings = _settings(args)
    password = getpass.getpass(f"Password of {settings.user}: ") if settings.user else ""
    outbox.settle(clock_of(args)())
    sender = desk.practice().email
    done = [_send(outbox, mail, sender, settings, password, clock_of(args)) for mail in queued]
    code = _report([_document(mail) for mail in done], args)
    return code if all(mail.state is MailState.SENT for mail in done) else 1


def _settings(args: argparse.Namespace) -> ServerSettings:
    host = args.host or os.environ.get("FIELDNOTES_SMTP_HOST", "")
    if not host:
        raise RefusedInputError("--host", "which mail server? (or set FIELDNOTES_SMTP_HOST)")
    if args.user and not sys.stdin.isatty():
        raise RefusedInputError("--user", "the password can only be asked for at a terminal")
    return ServerSettings(host=host, port=args.port, user=args.user)


def _send(  # noqa: PLR0917  (one mail and all it is sent with)
    outbox: Outbox,
    mail: Mail,
    sender: str,
    settings: ServerSettings,
    password: str,
    clock: Callable[[], Any],
) -> Mail:
    data = outbox.message(mail.id)
    outbox.mark(mail.id, MailState.SENDING, clock())

    def hand_over() -> None:
        outbox.mark(mail.id, MailState.SENDING, clock(), handed_over=True)

    attempt: Attempt = send(
        data, sender, mail.recipients, settings, password, before_data=hand_over
    )
    return outbox.mark(mail.id, STATE_AFTER[attempt.outcome], clock(), attempt.detail)


def _document(mail: Mail) -> dict[str, Any]:
    return dict(msgspec.to_builtins(mail))


def _list(outbox: Outbox, *, as_json: bool) -> int:
    mails = outbox.list()
    if as_json:
        emit_json([_document(mail) for mail in mails])
        return 0
    rows = [(m.state.value, m.case, ", ".join(m.recipients), m.id[:8], m.detail) for m in mails]
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
