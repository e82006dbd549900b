"""Photographs named by their files, one or several, with what lies in a folder to choose from."""

from __future__ import annotations

import os
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.tui.fields.choices import FindField
from fieldnotes.tui.fields.field import Option

if TYPE_CHECKING:
    from collections.abc import Callable

BETWEEN = ";"
SUFFIXES = (".jpg", ".jpeg", ".png", ".webp")
MOST = 40


def parts(text: str) -> tuple[str, ...]:
    """Give the files named in a text; a bare name lies in the folder of the one before it."""
    found: list[str] = []
    for part in (p.strip() for p in text.split(BETWEEN)):
        if part:
            bare = found and os.sep not in part and not part.startswith("~")
            found.append(str(Path(found[-1]).parent / part) if bare else part)
    return tuple(found)


def named(text: str) -> tuple[Option, ...]:
    """Give what the last part of a text may become: folders and pictures, the newest first."""
    *before, last = text.split(BETWEEN)
    if not last.strip():
        return ()
    path = parts(text)[-1]
    folder, _, start = path.rpartition(os.sep)
    place = Path(folder + os.sep if os.sep in path else ".").expanduser()
    lead = "".join(f"{part.strip()}{BETWEEN} " for part in before)
    kept = lead + (f"{folder}{os.sep}" if os.sep in path else "")
    return tuple(Option(f"{kept}{name}", name) for name in _listed(place, start.casefold())[:MOST])


def _listed(place: Path, start: str) -> list[str]:
    """Give the names in a folder that begin so; none where it cannot be read."""
    try:
        with os.scandir(place) as entries:
            found = [
                (not e.is_dir(), -e.stat().st_mtime, e.name + (os.sep if e.is_dir() else ""))
                for e in entries
                if e.name.casefold().startswith(start)
                and (start.startswith(".") or not e.name.startswith("."))
                and (e.is_dir() or e.name.casefold().endswith(SUFFIXES))
            ]
    except (OSError, ValueError):  # ValueError: a null byte in the name
        return []
    return [name for *_, name in sorted(found)]


def is_file(path: str) -> bool:
    """Whether a path names a file that is there."""
    try:
        return Path(path).expanduser().is_file()
    except (OSError, ValueError):
        return False


@lru_cache(maxsize=64)
def _checked(path: str, changed_ns: int, fault: Callable[[str], str]) -> str:
    """Decode a picture once for each state of its file: a form asks again and again."""
    _ = changed_ns
    return fault(path)


@dataclass(frozen=True, kw_only=True)
class PicturesField(FindField):
    """Files of pictures; `fault` says what is wrong with one, empty if nothing."""

    fault: Callable[[str], str]

    def _read(self, text: str) -> tuple[str, ...]:  # type: ignore[override]
        files = parts(text)
        for file in files:
            if wrong := self._wrong(file):
                self.refuse(f"{Path(file).name or file}: {wrong}")
            if files.count(file) > 1:
                self.refuse(f"{Path(file).name} stands twice")
        return files

    def _wrong(self, file: str) -> str:
        try:
            changed = Path(file).expanduser().stat().st_mtime_ns
        except (OSError, ValueError):
            changed = 0
        return _checked(file, changed, self.fault)

    def echo(self, text: str) -> str:
        """Say how many pictures there are."""
        try:
            count = len(self._read(text))
        except RefusedInputError:
            return ""
        return f"{count} picture{'s' if count > 1 else ''}, F9 measures" if count else ""


def pictures_field(key: str, fault: Callable[[str], str]) -> PicturesField:
    """Give the field of a wound's photographs."""

    def naming(answer: str) -> str:
        files = parts(answer)
        return answer if files and is_file(files[-1]) and not answer.endswith(os.sep) else ""

    return PicturesField(
        key=key, label="Photographs", find=named, naming=naming, what="file", free=True,
        fault=fault, hint="path of a JPEG, PNG or WebP; arrows and Enter choose from what lies "
        f"there; {BETWEEN} before another; F9 measures the wound on the last one",
    )  # fmt: skip
