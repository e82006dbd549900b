"""Asks for a passphrase: at the terminal, or from a file descriptor that a script names.

Never an argument, nor the text of an environment variable: other users can read those.
"""

from __future__ import annotations

import getpass
import os
import sys
from base64 import b64decode, b64encode
from pathlib import Path

from fieldnotes.cli.command import say
from fieldnotes.cli.keychain import drop, keep, kept
from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.storage.card import set_here, setting_here, store_id
from fieldnotes.storage.cipher import Cipher
from fieldnotes.storage.vault import open_vault, take_key

FD = "FIELDNOTES_PASSPHRASE_FD"
NEW_FD = "FIELDNOTES_NEW_PASSPHRASE_FD"
TRIES = 3
SERVICE = "fieldnotes store"
_REMEMBERED = "remembered"


def _given(variable: str) -> str | None:
    """Give one line from the descriptor a variable names; None if it names none."""
    number = os.environ.get(variable)
    if number is None:
        return None
    line = bytearray()
    try:
        while (byte := os.read(int(number), 1)) not in {b"", b"\n"}:
            line += byte
        return line.decode()
    except (OSError, ValueError) as error:
        raise RefusedInputError(variable, f"no passphrase can be read from {number}") from error


def asked(whose: str) -> str:
    """Ask for a passphrase that exists; RefusedInputError where nobody can be asked."""
    given = _given(FD)
    return _typed(f"Passphrase of {whose}: ", FD) if given is None else given


def asked_twice(whose: str) -> str:
    """Ask for a new passphrase, twice at a terminal."""
    given = _given(NEW_FD)
    if given is not None:
        return given
    first = _typed(f"New passphrase of {whose}: ", NEW_FD)
    if first != _typed("Once more: ", NEW_FD):
        raise RefusedInputError("passphrase", "the two are not the same; nothing was changed")
    return first


def _typed(prompt: str, variable: str) -> str:
    if not sys.stdin.isatty():
        raise RefusedInputError(
            "passphrase",
            f"it can only be asked for at a terminal; a script puts it on a file descriptor and "
            f"names that in {variable}",
        )
    return getpass.getpass(prompt)


def let_in(store: str) -> None:
    """Open a locked store: as remembered, else with what is asked for."""
    folder = Path(store)
    if open_as_remembered(folder):
        return
    for left in range(TRIES - 1, -1, -1):
        try:
            open_vault(folder, asked("this store (or its recovery key)"))
        except RefusedInputError as error:
            if not left or os.environ.get(FD) or not sys.stdin.isatty():
                raise
            say(f"fieldnotes: {error.reason}")
        else:
            return


# ----- remembered in the system's keyring, by the vet's choice


def remember(folder: Path) -> bool:
    """Put an open store's data key in the keyring; False where there is none that can."""
    done = keep(SERVICE, store_id(folder), b64encode(Cipher(folder).key).decode())
    if done:
        set_here(folder, _REMEMBERED, 1)
    return done


def forget(folder: Path) -> None:
    """Take a store's data key out of the keyring."""
    drop(SERVICE, store_id(folder))
    set_here(folder, _REMEMBERED, 0)


def open_as_remembered(folder: Path) -> bool:
    """Open a store with the key the keyring keeps; False if it keeps none that fits."""
    if not setting_here(folder, _REMEMBERED):
        return False
    found = kept(SERVICE, store_id(folder))
    try:
        take_key(folder, b64decode(found or ""))
    except (StoreError, ValueError):
        return False
    return True
