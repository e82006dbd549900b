"""Names of screens and forms, imported when they are first opened: a start pays for none."""

from __future__ import annotations

import asyncio
import sys
from contextlib import suppress
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable


def named(name: str) -> Any:  # noqa: ANN401  (what it is called by knows its type)
    """Give what `module:attribute` names below this package, importing its module."""
    module, _, attribute = name.partition(":")
    return getattr(import_module(f"fieldnotes.tui.{module}"), attribute)


def warm(names: Iterable[str]) -> None:
    """Import what is named while nobody waits for it."""
    for name in names:
        with suppress(ImportError):  # whoever opens it is told why
            named(name)


async def ready(name: str) -> Any:  # noqa: ANN401  (as above)
    """Give what `module:attribute` names; a module not yet imported is so in a thread."""
    if f"fieldnotes.tui.{name.partition(':')[0]}" in sys.modules:
        return named(name)
    return await asyncio.to_thread(named, name)
