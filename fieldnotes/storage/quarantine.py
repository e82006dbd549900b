"""Files that cannot be used are moved aside, never deleted, with the reason beside them."""

from __future__ import annotations

import secrets
from contextlib import suppress
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.cipher import Cipher
from fieldnotes.storage.durable import make_folder, replace_file, sync_folder

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

FOLDER = "quarantine"
SETTLED = "mended"
_WHY = ".why.txt"


def set_aside(store: Path, path: Path, why: str) -> str:
    """Move a file to quarantine; gives what could not be done, empty if it was."""
    if not path.is_file():
        return ""
    target = store / FOLDER / f"{secrets.token_hex(3)}-{path.name}"
    try:
        make_folder(target.parent)
        cipher = Cipher(store)
        _move(cipher, path, target)
        reason = target.with_suffix(_WHY)
        reason.write_bytes(cipher.encrypt(reason, f"{why}\n".encode()))
        sync_folder(path.parent)
        sync_folder(target.parent)
    except (OSError, StoreError) as error:
        return f"{path.name} could not be set aside: {getattr(error, 'strerror', None) or error}"
    return ""


def _move(cipher: Cipher, path: Path, target: Path) -> None:
    """Move a file; an encrypted one is bound to its name, so it is written anew under the other."""
    if not cipher.key:
        path.replace(target)
        return
    data = path.read_bytes()
    with suppress(StoreError):  # what cannot be decrypted is kept as it is, within
        data = cipher.decrypt(path, data)
    replace_file(target, cipher.encrypt(target, data))
    path.unlink()


def aside(store: Path) -> Iterator[tuple[Path, str]]:
    """Give each file set aside and not settled, with the reason."""
    folder = store / FOLDER
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        if path.is_file() and not path.name.endswith(_WHY):
            reason = path.with_suffix(_WHY)
            try:
                yield path, Cipher(store).read(reason).decode().strip()
            except (OSError, StoreError, ValueError):
                yield path, ""


def settle(path: Path) -> None:
    """Keep a file whose good copy is back apart from those still to be looked at."""
    target = path.parent / SETTLED
    make_folder(target)
    for part in (path, path.with_suffix(_WHY)):
        if part.is_file():
            _move(Cipher(path.parent.parent), part, target / part.name)
