"""`fieldnotes init`: a new store of a practice; on a terminal it asks for what was not given."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from fieldnotes.casework.founding import ASKED, Founding, blank, person_id
from fieldnotes.casework.settings import setting_named, with_settings
from fieldnotes.cli.command import emit_json, say
from fieldnotes.cli.local_zone import local_zone
from fieldnotes.cli.opening import clock_of, data_folder, open_book
from fieldnotes.domain.body_weight import METRIC
from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.domain.mail import IMPLICIT_TLS_PORT, MailServer
from fieldnotes.domain.patients import Person, PersonRole
from fieldnotes.domain.text import clean_line
from fieldnotes.storage.casebook import create_store
from fieldnotes.storage.drafts import Drafts
from fieldnotes.storage.place import is_store
from fieldnotes.tui.first_run import DRAFT

if TYPE_CHECKING:
    import argparse

    from fieldnotes.domain.errors import Problem

NEEDED = ("name", "phone")
SIGNS = "a vet who signs, as 'NAME; REGISTRATION'; may be given again"
NEXT = """{folder}
'fieldnotes' opens it, 'fieldnotes settings' changes what was asked, V in the app adds who signs,
'fieldnotes import' brings records in."""


def _option(key: str) -> str:
    return {"host": "--mail-host", "port": "--mail-port", "from": "--mail-from"}.get(
        key, f"--{key.replace('_', '-')}"
    )


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare an option for each thing asked, and where to."""
    parser.add_argument("--dir", metavar="DIR", help="the store's folder, if not the usual one")
    for key in ASKED:
        setting = setting_named(key)
        parser.add_argument(_option(key), metavar="TEXT", help=setting.hint or setting.label)
    parser.add_argument("--vet", action="append", metavar="NAME", help=SIGNS)
    parser.add_argument("--nurse", action="append", default=[], metavar="NAME", help="a nurse")
    parser.add_argument("--mail-host", default="", metavar="HOST", help="takes your mail")
    parser.add_argument("--mail-port", type=int, default=IMPLICIT_TLS_PORT, metavar="PORT")
    parser.add_argument("--mail-user", default="", metavar="USER")
    parser.add_argument("--mail-from", default="", metavar="ADDRESS", help="if not --email")


def run(args: argparse.Namespace) -> int:
    """Ask, check everything, and only then make the store."""
    folder = Path(args.dir).expanduser() if args.dir else data_folder(args)
    args.data = str(folder)
    if is_store(folder) and open_book(args).register().practice is not None:
        raise StoreError(
            f"{folder} holds a practice already and stays as it is; 'fieldnotes settings' changes "
            "it, --dir names another folder"
        )
    founding = _founding(args)
    if not is_store(folder):
        create_store(folder)
    from fieldnotes.casework.desk import Casework  # noqa: PLC0415  (only once all is right)

    desk = Casework(open_book(args), clock_of(args))
    founding.save(desk)
    Drafts(folder / "drafts").discard(DRAFT)
    if args.json:
        names = [p.name for p in founding.people]
        emit_json({"store": str(folder), "practice": founding.practice.name, "people": names})
    else:
        print(NEXT.format(folder=folder))
    return 0


def _founding(args: argparse.Namespace) -> Founding:
    """Give what was typed; RefusedInputError names the option at fault, a terminal asks again."""
    asking = sys.stdin.isatty()
    today = clock_of(args)().date()
    texts = {"zone": local_zone(), "units": METRIC}
    texts |= {key: getattr(args, key) for key in ASKED if getattr(args, key) is not None}
    if asking:
        for key in ASKED:
            if getattr(args, key) is None:
                texts[key] = _asked(key, texts.get(key, ""))
    vets = args.vet or ([_vet()] if asking else [])
    missing = [_option(key) for key in NEEDED if not texts.get(key, "").strip()]
    missing += [] if any(v.strip() for v in vets) else ["--vet"]
    if missing:
        raise RefusedInputError(missing[0], f"this is needed ({', '.join(missing)})")
    while True:
        try:
            founding = _read(args, texts, vets)
            wrong: tuple[Problem, ...] = founding.problems(today)
        except RefusedInputError as error:
            raise RefusedInputError(_option(error.field), error.reason) from error
        if not wrong:
            return founding
        if not (asking and wrong[0].field in texts):
            raise RefusedInputError(_option(wrong[0].field), wrong[0].message)
        say(f"! {wrong[0].message}")
        texts[wrong[0].field] = _asked(wrong[0].field, "")


def _read(args: argparse.Namespace, texts: dict[str, str], vets: list[str]) -> Founding:
    known = {key: text for key, text in texts.items() if text or key in NEEDED}
    practice = with_settings(blank(), known)
    if args.mail_host:
        server = MailServer(args.mail_host, args.mail_port, args.mail_user, args.mail_from)
        practice = replace(practice, mail_server=server)
    signing = [(v, PersonRole.VET) for v in vets] + [(n, PersonRole.NURSE) for n in args.nurse]
    people = []
    for n, (text, role) in enumerate(signing, 1):
        name, _, licence = (clean_line(part) for part in text.partition(";"))
        people.append(Person(person_id(n), name, role, licence))
    return Founding(practice, tuple(people))


def _asked(key: str, usual: str) -> str:
    """Ask on the terminal until the answer can be read; Enter takes the usual one."""
    setting = setting_named(key)
    note = f" [{usual}]" if usual else "" if key in NEEDED else " (Enter: none yet)"
    said = f" - {setting.hint}" if setting.hint else ""
    while True:
        text = input(f"{setting.label}{said}{note}: ").strip() or usual
        try:
            setting.value(text)
        except RefusedInputError as error:
            if text or key in NEEDED:
                say(f"! {error.reason}")
                continue
        return text


def _vet() -> str:
    while True:
        name = input("Vet who signs, as 'NAME; REGISTRATION': ").strip()
        if name.partition(";")[0].strip():
            return name
        say("! this is needed")
