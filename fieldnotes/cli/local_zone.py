"""The time zone a computer is set to, by its name in the time zone database."""

from __future__ import annotations

import os
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

LOCALTIME = Path("/etc/localtime")
NO_PLACE = frozenset({"UTC", "Etc/UTC", "UCT", "GMT", "Universal", "Zulu"})


def local_zone() -> str:
    """Give the name from TZ, else from what /etc/localtime points to; empty if no place is said."""
    name = os.environ.get("TZ", "").removeprefix(":")
    if not name and LOCALTIME.is_symlink():
        name = str(LOCALTIME.resolve()).partition("zoneinfo/")[2]
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return ""
    return "" if name in NO_PLACE else name
