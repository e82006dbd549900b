"""The store's passphrase as the app needs it: turned on and off, changed, asked for again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.cli.passphrase import forget, remember
from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.storage import vault
from fieldnotes.storage.card import set_here, setting_here
from fieldnotes.storage.encrypting import turn_off, turn_on
from fieldnotes.storage.pin import Pin, could_be_pin
from fieldnotes.storage.recovery_key import new_recovery_key

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldnotes.storage.casebook import Casebook

IDLE, REMEMBERED = "idle_min", "remembered"
MOST_IDLE_MIN = 240


def fitting(first: str, second: str) -> str:
    """Give a new passphrase; refuse one too short or not typed the same way twice."""
    if first != second:
        raise RefusedInputError("passphrase", "the two are not the same; nothing was changed")
    return vault.fit_passphrase(first)


class StoreLocking:
    """Locks the open store, and the screen over it."""

    def __init__(self, book: Callable[[], Casebook]) -> None:
        self._book = book
        self._pin: Pin | None = None

    @property
    def locked(self) -> bool:
        """Whether a passphrase opens this store."""
        return bool(self._book().cipher.key)

    @property
    def idle_min(self) -> int:
        """After how many minutes without a key the screen is covered; 0 never."""
        found = setting_here(self._book().folder, IDLE)
        return found if isinstance(found, int) and self.locked else 0

    def facts(self) -> tuple[tuple[str, str], ...]:
        """Give how the store is locked, as lines of two parts."""
        if not self.locked:
            return (("Records", "not encrypted: whoever has this disk can read them"),)
        cost = vault.load(self._book().folder).passphrase.cost
        minutes = self.idle_min
        remembered = setting_here(self._book().folder, REMEMBERED)
        return (
            ("Records", "encrypted (ChaCha20-Poly1305), one key for all"),
            ("A guess", f"Argon2id, {cost.memory_kib // 1024} MiB, {cost.passes} passes"),
            ("Idle", f"covered after {minutes} min" if minutes else "never covered by itself"),
            ("PIN", "set until the app is left" if self._pin else "none"),
            ("Keyring", "keeps the key: nothing is asked" if remembered else "not used"),
        )

    def check(self, secret: str) -> None:
        """Refuse anything but the passphrase, the recovery key or the PIN, where one is set."""
        pin = self._pin
        if pin is not None and could_be_pin(secret):
            if pin.fits(secret):
                return
            if not pin.left:
                self._pin = None
                raise RefusedInputError("PIN", "wrong too often: now the passphrase is asked for")
            raise RefusedInputError("PIN", f"that is not it; {pin.left} tries left")
        self.check_passphrase(secret)

    def check_passphrase(self, secret: str) -> None:
        """Refuse anything but the passphrase or the recovery key."""
        vault.open_vault(self._book().folder, secret)

    @staticmethod
    def fit(first: str, second: str) -> None:
        """Refuse a new passphrase that is too short or was not typed the same way twice."""
        fitting(first, second)

    @staticmethod
    def new_recovery_key() -> str:
        """Give a random recovery key, to be written down before it is used."""
        return new_recovery_key()

    def turn_on(self, words: str, recovery: str, progress: Callable[[int, int], None]) -> None:
        """Encrypt every record."""
        turn_on(self._book(), words, recovery, progress)

    def turn_off(self, progress: Callable[[int, int], None]) -> None:
        """Decrypt every record."""
        turn_off(self._book(), progress)
        self._pin = None

    def set_passphrase(self, words: str) -> None:
        """Let another passphrase open the store instead."""
        with self._book().writing():
            vault.set_passphrase(self._book().folder, words)

    def set_recovery_key(self, recovery: str) -> None:
        """Let another recovery key open the store instead."""
        with self._book().writing():
            vault.set_recovery_key(self._book().folder, recovery)

    def set_idle(self, typed: str) -> int:
        """Set after how many minutes this computer covers the screen; 0 for never."""
        if not (typed.isdecimal() and int(typed) <= MOST_IDLE_MIN):
            raise RefusedInputError("minutes", f"0 (never) to {MOST_IDLE_MIN}")
        set_here(self._book().folder, IDLE, int(typed))
        return int(typed)

    def set_pin(self, digits: str) -> None:
        """Take a PIN until the app is left; an empty one for none."""
        self._pin = Pin(digits) if digits else None

    def remember(self) -> bool:
        """Keep the key in the system's keyring, or forget it again; gives whether it is kept."""
        folder = self._book().folder
        if setting_here(folder, REMEMBERED):
            forget(folder)
            return False
        if not remember(folder):
            raise StoreError("there is no keyring here that can keep it")
        return True
