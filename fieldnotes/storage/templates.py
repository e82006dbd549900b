"""The practice's own templates, in `templates/` of the store: text files anyone may edit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.knowledge.handout import FILE as BLOCKS
from fieldnotes.knowledge.source import shipped_text
from fieldnotes.resources import root
from fieldnotes.storage.durable import replace_file

if TYPE_CHECKING:
    from collections.abc import Iterator
    from importlib.resources.abc import Traversable
    from pathlib import Path

FOLDER = "templates"
SUFFIXES = (".j2", ".html", ".toml")
MOST_BYTES = 300_000  # no text of ours is a tenth of it


def shipped() -> dict[str, str]:
    """Give every shipped template and the table of text blocks, by name."""
    found = dict(_below(root(FOLDER), ""))
    return {**found, BLOCKS: shipped_text(BLOCKS)}


def _below(folder: Traversable, prefix: str) -> Iterator[tuple[str, str]]:
    for part in folder.iterdir():
        if part.is_dir():
            yield from _below(part, f"{prefix}{part.name}/")
        elif part.name.endswith(SUFFIXES):
            yield f"{prefix}{part.name}", part.read_text(encoding="utf-8")


def own_texts(store: Path, problems: list[str]) -> dict[str, str]:
    """Give the practice's own files by name; one that cannot be read joins the problems."""
    folder, found = store / FOLDER, {}
    for path in sorted(folder.rglob("*")) if folder.is_dir() else ():
        if path.suffix not in SUFFIXES or not path.is_file():
            continue
        name = path.relative_to(folder).as_posix()
        try:
            found[name] = path.read_bytes()[:MOST_BYTES].decode("utf-8")
        except (OSError, UnicodeDecodeError) as error:
            fault = f"templates/{name}: {error}; the shipped one is used"
            problems += [] if fault in problems else [fault]
    return found


def export_shipped(store: Path) -> tuple[str, ...]:
    """Copy the shipped files that are not there yet; gives their names. None is overwritten."""
    new = {n: t for n, t in shipped().items() if not (store / FOLDER / n).exists()}
    for name, text in new.items():
        replace_file(store / FOLDER / name, text.encode("utf-8"))
    return tuple(sorted(new))
