"""`fieldnotes lock`: encrypts the store, so that only a passphrase or a recovery key opens it."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json, say, shown_progress
from fieldnotes.cli.opening import data_folder
from fieldnotes.cli.passphrase import FD, NEW_FD, asked, asked_twice, forget, remember
from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.encrypting import turn_off, turn_on
from fieldnotes.storage.place import has_keys
from fieldnotes.storage.recovery_key import new_recovery_key
from fieldnotes.storage.vault import (
    fit_passphrase,
    load,
    open_vault,
    set_passphrase,
    set_recovery_key,
)

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

ACTIONS = {
    "show": "whether the store is locked, and how",
    "on": "encrypt every record; gives the recovery key to print",
    "off": "decrypt every record",
    "passphrase": "another passphrase; the recovery key opens the store too if it is forgotten",
    "recovery": "another recovery key; the one before opens nothing any more",
    "remember": "keep the key in this system's keyring, so that nothing is asked here",
    "forget": "take it out of the keyring again",
}
FORGOTTEN = "Without the passphrase and without this key nobody can read the records, ever."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what to do."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="|".join(ACTIONS))
    for name, words in ACTIONS.items():
        actions.add_parser(name, help=words)
    parser.epilog = (
        f"a script gives the passphrase by the file descriptor in {FD}, a new one by {NEW_FD}"
    )


def run(args: argparse.Namespace) -> int:
    """Carry out one action."""
    folder = data_folder(args)
    if args.action == "show":
        return _show(folder, as_json=args.json)
    if args.read_only:
        raise StoreError("this store is opened to read only")
    if args.action == "on":
        return _on(Casebook(folder), as_json=args.json)
    if args.action in {"passphrase", "recovery"}:
        return _change(folder, args.action, as_json=args.json)
    book = Casebook(folder)
    if not book.cipher.key:
        raise StoreError("this store is not locked with a passphrase")
    if args.action == "off":
        turn_off(book, shown_progress)
        say("Every record is decrypted; no passphrase is asked for any more.")
    elif args.action == "forget":
        forget(folder)
        say("The passphrase is asked for again.")
    elif not remember(folder):
        raise StoreError("there is no keyring here that can keep it; the passphrase is asked for")
    else:
        say("Kept in the keyring: whoever is signed in to this computer opens the store.")
    return 0


def _show(folder: Path, *, as_json: bool) -> int:
    locked = has_keys(folder)
    cost = load(folder).passphrase.cost if locked else None
    if as_json:
        emit_json({"locked": locked, "argon2id_memory_kib": cost.memory_kib if cost else None})
    elif cost:
        print(
            f"locked with a passphrase (Argon2id: {cost.memory_kib // 1024} MiB, "
            f"{cost.passes} passes, {cost.lanes} lanes; ChaCha20-Poly1305)"
        )
    else:
        print("not locked: whoever has this disk can read the records")
    return 0


def _on(book: Casebook, *, as_json: bool) -> int:
    if book.cipher.key:
        raise StoreError("this store is locked with a passphrase already")
    words, recovery = fit_passphrase(asked_twice("this store")), new_recovery_key()
    _print_key(recovery, as_json=as_json)
    _make_sure(recovery)
    turn_on(book, words, recovery, shown_progress)
    say("Every record is encrypted; the passphrase or the recovery key opens the store.")
    return 0


def _change(folder: Path, what: str, *, as_json: bool) -> int:
    if not has_keys(folder):
        raise StoreError("this store is not locked with a passphrase")
    open_vault(folder, asked("this store (or its recovery key)"))
    book = Casebook(folder)
    if what == "passphrase":
        words = asked_twice("this store")
        with book.writing():
            set_passphrase(folder, words)
        say("The new passphrase opens the store; backups made before keep the old one.")
        return 0
    recovery = new_recovery_key()
    _print_key(recovery, as_json=as_json)
    _make_sure(recovery)
    with book.writing():
        set_recovery_key(folder, recovery)
    return 0


def _print_key(recovery: str, *, as_json: bool) -> None:
    if as_json:
        emit_json({"recovery_key": recovery})
        return
    print(
        f"Recovery key, to be written down and kept apart from this computer:\n\n    {recovery}\n"
    )
    say(FORGOTTEN)


def _make_sure(recovery: str) -> None:
    """Ask for the last group at a terminal: a key that was not written down helps nobody."""
    if not sys.stdin.isatty():
        return
    last = recovery.rpartition("-")[2]
    typed = input("Its last group, to show that it is written down: ")
    if typed.strip().upper() != last:
        raise RefusedInputError("recovery key", "that is not its last group; nothing was changed")
