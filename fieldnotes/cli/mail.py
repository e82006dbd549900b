"""`fieldnotes mail show | set | password`: where mail is handed in; never a password in a file."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import msgspec

from fieldnotes.cli.carrier import MailCarrier
from fieldnotes.cli.command import emit_json, say
from fieldnotes.cli.opening import open_desk
from fieldnotes.cli.outbox import asked_password
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.mail import MailServer

if TYPE_CHECKING:
    import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare show, set and password."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="show|set|password")
    actions.add_parser("show", help="the mail server as set")
    setting = actions.add_parser("set", help="set the mail server, or parts of it")
    setting.add_argument("--host", help="its name, as in its certificate")
    setting.add_argument("--port", type=int, help="465, or a port with STARTTLS such as 587")
    setting.add_argument("--user", help="user name, empty for none")
    setting.add_argument("--from", dest="sender", help="sender, if not the practice's email")
    actions.add_parser("password", help="ask for the password and keep it in the keyring")


def run(args: argparse.Namespace) -> int:
    """Carry out one action."""
    post = open_desk(args).post
    if args.action == "set":
        before = post.server() if post.has_server() else MailServer("")
        parts = ("host", "port", "user", "sender")
        given = {p: getattr(args, p) for p in parts if getattr(args, p) is not None}
        post.set_server(replace(before, **given))
    server = post.server()
    if args.action == "password":
        if not server.user:
            raise RefusedInputError("user", "set a user first: fieldnotes mail set --user USER")
        kept = MailCarrier().keep(server, asked_password(server))
        say("Kept in the keyring." if kept else "There is no keyring here: it is asked for.")
        return 0 if kept else 1
    if args.json:
        emit_json(msgspec.to_builtins(server))
        return 0
    how = "TLS" if server.port == 465 else "STARTTLS"
    sender = server.sender or "the practice's email"
    print(f"{server.host}, port {server.port} ({how}), user {server.user or 'none'}, from {sender}")
    return 0
