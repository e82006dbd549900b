"""Encryption at rest: every file of a locked store under its data key, bound to its own name.

A store without keys is read and written as it is. The data key is in memory only, one for each
store, from when the passphrase was given (`vault.open_vault`) until the process ends.
"""

from __future__ import annotations

import hashlib
import secrets
from base64 import b64decode, b64encode
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldnotes.domain.errors import PassphraseNeededError, StoreError
from fieldnotes.storage.place import KEYS, KEYS_COPY, has_keys

if TYPE_CHECKING:
    from pathlib import Path

    from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

MAGIC = b"fieldnotes encrypted 1\n"
NOT_ENCRYPTED = frozenset(
    {KEYS, KEYS_COPY, "store.json", "device.json", "upkeep.json"}  # no word of a record in them
    | {"lock", "lock.holder", "device.lock", "log"}
    | {"templates"}  # the practice's own wording, edited with any editor
    | {"archives", "batch.journal"}  # what they hold is encrypted already
)
_KEY_ID_BYTES = 8
_NONCE_BYTES = 12


class UnreadFileError(StoreError):
    """A file the system would not let us read now; its content may be whole."""


class OtherKeyError(UnreadFileError):
    """A file encrypted with a key that is not at hand: it may be whole, so it is left alone."""


@dataclass
class _Held:
    """A store's data key while it is open; `strict` refuses files that are not encrypted."""

    aead: ChaCha20Poly1305 | None = None
    key: bytes = b""
    key_id: bytes = b""
    strict: bool = True


_HELD: dict[Path, _Held] = {}


class Cipher:
    """Encrypts and decrypts the files of one store; without a key it passes them through."""

    def __init__(self, store: Path) -> None:
        self.store = store
        self._held = _HELD.setdefault(store.resolve(), _Held())

    @property
    def key(self) -> bytes:
        """The data key; empty for a store that is not encrypted."""
        return self._held.key

    @property
    def strict(self) -> bool:
        """Whether everything is in the form it should have; False amid a conversion."""
        return self._held.strict

    def hold(self, key: bytes, *, strict: bool) -> None:
        """Use a data key from now on; an empty one for none."""
        from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305  # noqa: PLC0415

        held = self._held
        held.aead = ChaCha20Poly1305(key) if key else None
        held.key, held.key_id, held.strict = key, key_id(key), strict

    def encrypt(self, path: Path, data: bytes) -> bytes:
        """Give what is to stand in a file, bound to its name in the store."""
        name, aead = self._name(path), self._held.aead
        if aead is None or _is_plain(name):
            return data
        nonce = secrets.token_bytes(_NONCE_BYTES)
        return MAGIC + self._held.key_id + nonce + aead.encrypt(nonce, data, name.encode())

    def decrypt(self, path: Path, data: bytes) -> bytes:
        """Give what a file holds; StoreError if it was altered or belongs elsewhere."""
        name, held = self._name(path), self._held
        if _is_plain(name):
            return data
        if not data.startswith(MAGIC):
            if held.aead is None or not held.strict:
                return data
            raise StoreError(f"{name}: is not encrypted, or its beginning was altered")
        body = data[len(MAGIC) :]
        if held.aead is None or body[:_KEY_ID_BYTES] != held.key_id:
            raise OtherKeyError(f"{name}: is encrypted with a key that is not in {KEYS}")
        nonce, sealed = (
            body[_KEY_ID_BYTES : _KEY_ID_BYTES + _NONCE_BYTES],
            body[_KEY_ID_BYTES + _NONCE_BYTES :],
        )
        from cryptography.exceptions import InvalidTag  # noqa: PLC0415

        try:
            return held.aead.decrypt(nonce, sealed, name.encode())
        except (InvalidTag, ValueError) as error:
            raise StoreError(f"{name}: was altered, or is another file's content") from error

    def read(self, path: Path) -> bytes:
        """Give what a file of the store holds; OSError or StoreError."""
        return self.decrypt(path, path.read_bytes())

    def encrypt_line(self, path: Path, line: bytes) -> bytes:
        """Give a line of a journal, without a line end in it."""
        return b64encode(self.encrypt(path, line)) if self.key else line

    def decrypt_line(self, path: Path, line: bytes) -> bytes:
        """Give what a line of a journal holds; ValueError or StoreError."""
        return self.decrypt(path, b64decode(line, validate=True)) if self.key else line

    def ensure_current(self) -> None:
        """Refuse to write where another program turned the encryption on or off meanwhile."""
        if has_keys(self.store) != bool(self.key):
            raise StoreError("this store was locked or unlocked by another program; open it again")

    def _name(self, path: Path) -> str:
        return path.relative_to(self.store).as_posix()


def _is_plain(name: str) -> bool:
    return name.partition("/")[0] in NOT_ENCRYPTED


def key_id(key: bytes) -> bytes:
    """Give what names a data key without telling it; empty for none."""
    return hashlib.sha256(b"fieldnotes key id" + key).digest()[:_KEY_ID_BYTES] if key else b""


def cipher_of(store: Path) -> Cipher:
    """Give a store's cipher; PassphraseNeededError if its passphrase was not given yet."""
    cipher = Cipher(store)
    if has_keys(store) and not cipher.key:
        raise PassphraseNeededError(str(store))
    if cipher.key and not has_keys(store):  # another store lies here now
        cipher.hold(b"", strict=True)
    return cipher
