"""Files that cannot be used are moved aside, never deleted, with the reason beside them."""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING

from fieldnotes.storage.durable import make_folder, sync_folder

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
        path.replace(target)
        target.with_suffix(_WHY).write_text(why + "\n", "utf-8")
        sync_folder(path.parent)
        sync_folder(target.parent)
    except OSError as error:
        return f"{path.name} could not be set aside: {error.strerror or error}"
    return ""


def aside(store: Path) -> Iterator[tuple[Path, str]]:
    """Give each file set aside and not settled, with the reason."""
    folder = store / FOLDER
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        if path.is_file() and not path.name.endswith(_WHY):
            reason = path.with_suffix(_WHY)
            try:
                yield path, reason.read_text("utf-8").strip()
            except (OSError, ValueError):
                yield path, ""


def settle(path: Path) -> None:
    """Keep a file whose good copy is back apart from those still to be looked at."""
    target = path.parent / SETTLED
    make_folder(target)
    for part in (path, path.with_suffix(_WHY)):
        if part.is_file():
            part.replace(target / part.name)
