"""Where the shipped folders `templates` and `sample_cases` are, in a wheel and in a checkout."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable


def root(name: str) -> Traversable:
    """Give a shipped folder; FileNotFoundError if the installation lacks it."""
    for up in Path(__file__).resolve().parents:  # a checkout or editable install: the live files
        if (up / "pyproject.toml").is_file() and (up / name).is_dir():
            return up / name
    packed = files(__package__).joinpath("_data", name)
    if packed.is_dir():
        return packed
    raise FileNotFoundError(name)
