"""A short number that uncovers the screen until the app is left; only its hash is in memory."""

from __future__ import annotations

import hmac
import re
import secrets

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.storage.vault import STANDARD, argon2id

TRIES = 5
_FORM = re.compile(r"[0-9]{4,8}")


def could_be_pin(text: str) -> bool:
    """Whether a text has the form of a PIN; a passphrase of digits is longer."""
    return _FORM.fullmatch(text) is not None


class Pin:
    """Right or wrong, and gone after five wrong ones: then the passphrase is asked for."""

    def __init__(self, digits: str) -> None:
        if not could_be_pin(digits):
            raise RefusedInputError("PIN", "4 to 8 digits")
        self._salt = secrets.token_bytes(16)
        self._hash = argon2id(digits, self._salt, STANDARD)
        self.left = TRIES

    def fits(self, typed: str) -> bool:
        """Whether this is it; a wrong one costs a try."""
        if self.left and hmac.compare_digest(argon2id(typed, self._salt, STANDARD), self._hash):
            self.left = TRIES
            return True
        self.left = max(0, self.left - 1)
        return False
