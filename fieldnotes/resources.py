"""Where the shipped `templates/` and `sample_cases/` stand: in a wheel, or in a checkout."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable


def root(name: str) -> Traversable:
    """Give a shipped folder; FileNotFoundError if it is nowhere."""
    packed = files(__package__).joinpath("_data", name)
    if packed.is_dir():
        return packed
    for up in Path(__file__).resolve().parents:
        if (up / "pyproject.toml").is_file() and (up / name).is_dir():
            return up / name
    raise FileNotFoundError(name)


def template(name: str) -> str:
    """Give the text of a shipped template."""
    return root("templates").joinpath(name).read_text(encoding="utf-8")
