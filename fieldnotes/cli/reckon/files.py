"""Reading a small text file named on the command line."""

from __future__ import annotations

from pathlib import Path

from fieldnotes.domain.errors import RefusedInputError

_MOST_BYTES = 2_000_000


def read_text(name: str) -> str:
    """Give the text of a file; RefusedInputError if it cannot be read or is no UTF-8 text."""
    path = Path(name)
    try:
        if path.is_file() and path.stat().st_size > _MOST_BYTES:
            raise RefusedInputError(name, "larger than 2 MB")
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise RefusedInputError(name, f"no UTF-8 text (byte {error.start})") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise RefusedInputError(name, f"cannot be read: {reason}") from error
