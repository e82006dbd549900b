"""The keys of a locked store: its data key, wrapped by the passphrase and by the recovery key.

`keys.json` holds nothing that helps without one of the two; it lies there twice, since without
it no record could be read. Whoever has the data key can tell whether it was altered (`proof`).
"""

from __future__ import annotations

import hashlib
import secrets
import unicodedata
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import msgspec

from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.storage.cipher import Cipher
from fieldnotes.storage.durable import replace_file
from fieldnotes.storage.place import KEYS, KEYS_COPY
from fieldnotes.storage.recovery_key import looks_like_one, read_recovery_key

if TYPE_CHECKING:
    from pathlib import Path

    from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

KEY_BYTES = 32
LEAST_CHARACTERS = 10
_NONCE_BYTES, _SALT_BYTES = 12, 16
_MOST = (4 * 1024 * 1024, 100, 64)  # KiB, passes, lanes: more was made to stop the machine


@dataclass(frozen=True)
class Cost:
    """What one guess costs by Argon2id: the second choice of RFC 9106, section 4.

    The least that the OWASP Password Storage Cheat Sheet (2023) allows is 19 MiB and 2 passes.
    """

    memory_kib: int = 64 * 1024
    passes: int = 3
    lanes: int = 4

    @property
    def is_sane(self) -> bool:
        """Whether Argon2id can be asked for this at all, on any computer."""
        asked = (self.memory_kib, self.passes, self.lanes)
        within = all(1 <= one <= most for one, most in zip(asked, _MOST, strict=True))
        return within and self.memory_kib >= 8 * self.lanes


STANDARD = Cost()


@dataclass(frozen=True)
class Wrap:
    """The data key, encrypted by what Argon2id makes of a secret."""

    cost: Cost
    salt: bytes
    wrapped: bytes


State = Literal["locking", "locked", "unlocking"]


@dataclass(frozen=True)
class Vault:
    """What `keys.json` says; amid a conversion files of both forms are read."""

    state: State
    passphrase: Wrap
    recovery: Wrap
    proof: bytes = b""


@dataclass(frozen=True)
class _Document:
    format: str
    vault: Vault
    sha256: str


_FORMAT = "fieldnotes keys 1"


def fit_passphrase(text: str) -> str:
    """Give a new passphrase; RefusedInputError if it is too short to keep anybody out.

    StoreError where the library that would use it is missing, before anything is begun.
    """
    _argon2id()
    if len(text.strip()) < LEAST_CHARACTERS:
        raise RefusedInputError(
            "passphrase", f"at least {LEAST_CHARACTERS} characters; four random words are good"
        )
    return text


def _argon2id() -> type[Argon2id]:
    try:
        from cryptography.hazmat.primitives.kdf.argon2 import Argon2id  # noqa: PLC0415  (an extra)
    except ImportError as error:
        raise StoreError(
            "a passphrase needs the extra 'seal': pip install 'fieldnotes[seal]'"
        ) from error
    return Argon2id


def argon2id(secret: str, salt: bytes, cost: Cost) -> bytes:
    """Give 32 bytes made of a secret, the same from any keyboard (NFKC)."""
    derive = _argon2id()(
        salt=salt, length=KEY_BYTES, iterations=cost.passes, lanes=cost.lanes,
        memory_cost=cost.memory_kib,
    )  # fmt: skip
    return derive.derive(unicodedata.normalize("NFKC", secret).encode())


def _wrap(secret: str, key: bytes, label: str, cost: Cost) -> Wrap:
    from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305  # noqa: PLC0415

    salt, nonce = secrets.token_bytes(_SALT_BYTES), secrets.token_bytes(_NONCE_BYTES)
    aead = ChaCha20Poly1305(argon2id(secret, salt, cost))
    return Wrap(cost, salt, nonce + aead.encrypt(nonce, key, label.encode()))


def _unwrap(secret: str, wrap: Wrap, label: str) -> bytes:
    """Give the data key, empty if that is not the secret."""
    derived = argon2id(secret, wrap.salt, wrap.cost)
    from cryptography.exceptions import InvalidTag  # noqa: PLC0415
    from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305  # noqa: PLC0415

    nonce, wrapped = wrap.wrapped[:_NONCE_BYTES], wrap.wrapped[_NONCE_BYTES:]
    try:
        return ChaCha20Poly1305(derived).decrypt(nonce, wrapped, label.encode())
    except (InvalidTag, ValueError):
        return b""


def _proven(vault: Vault, key: bytes) -> Vault:
    return replace(vault, proof=_proof(vault, key))


def _proof(vault: Vault, key: bytes) -> bytes:
    said = msgspec.json.encode(replace(vault, proof=b""))
    return hashlib.blake2b(said, key=key, digest_size=32, person=b"fieldnotes keys").digest()


# ----- the file


def load(store: Path) -> Vault:
    """Read the keys; StoreError if neither of the two files can be used."""
    for name in (KEYS, KEYS_COPY):
        try:
            document = msgspec.json.decode((store / name).read_bytes(), type=_Document)
        except (OSError, msgspec.MsgspecError, RecursionError):
            continue
        wraps = (document.vault.passphrase, document.vault.recovery)
        if document.sha256 == _hash(document.vault) and all(
            wrap.cost.is_sane and len(wrap.salt) >= _SALT_BYTES for wrap in wraps
        ):
            return document.vault
    raise StoreError(
        f"{KEYS} is damaged, and so is its copy; put one back from a backup of this store, or "
        "from archives/sealed-*.zip beside it with any zip program"
    )


def _hash(vault: Vault) -> str:
    return hashlib.sha256(msgspec.json.encode(vault)).hexdigest()


def save(store: Path, vault: Vault) -> None:
    """Write the keys twice, durably."""
    data = msgspec.json.encode(_Document(_FORMAT, vault, _hash(vault)))
    for name in (KEYS, KEYS_COPY):
        replace_file(store / name, data)


def mend_keys(store: Path) -> None:
    """Write both files anew if one of them is damaged or missing."""
    files = [store / KEYS, store / KEYS_COPY]
    if not all(f.is_file() for f in files) or files[0].read_bytes() != files[1].read_bytes():
        save(store, load(store))


# ----- opening and changing


def open_vault(store: Path, secret: str) -> None:
    """Open a store with its passphrase or its recovery key, for as long as the process runs.

    RefusedInputError if it is neither; StoreError if the keys were altered.
    """
    vault = load(store)
    key = _unwrap(secret, vault.passphrase, "passphrase")
    if not key and looks_like_one(secret):
        key = _unwrap(read_recovery_key(secret), vault.recovery, "recovery")
    if not key:
        raise RefusedInputError("passphrase", "that is not it; nothing was changed, try again")
    take_key(store, key)


def take_key(store: Path, key: bytes) -> None:
    """Open a store with its data key; StoreError if it is another store's."""
    vault = load(store)
    if not secrets.compare_digest(vault.proof, _proof(vault, key)):
        raise StoreError(f"{KEYS} was altered, or is another store's; put it back from a backup")
    Cipher(store).hold(key, strict=vault.state == "locked")


def new_vault(store: Path, passphrase: str, recovery: str, cost: Cost | None = None) -> None:
    """Give a store a new data key, wrapped by both; its files are still to be encrypted."""
    key, cost = secrets.token_bytes(KEY_BYTES), cost or STANDARD
    vault = Vault(
        "locking",
        _wrap(fit_passphrase(passphrase), key, "passphrase", cost),
        _wrap(read_recovery_key(recovery), key, "recovery", cost),
    )
    save(store, _proven(vault, key))
    take_key(store, key)


def set_state(store: Path, state: State) -> None:
    """Say how far a conversion is; the store must be open."""
    cipher = Cipher(store)
    save(store, _proven(replace(load(store), state=state), cipher.key))
    take_key(store, cipher.key)


def set_passphrase(store: Path, passphrase: str, cost: Cost | None = None) -> None:
    """Wrap the data key by another passphrase; the store must be open, no record is rewritten."""
    key = Cipher(store).key
    wrap = _wrap(fit_passphrase(passphrase), key, "passphrase", cost or STANDARD)
    save(store, _proven(replace(load(store), passphrase=wrap), key))


def set_recovery_key(store: Path, recovery: str, cost: Cost | None = None) -> None:
    """Wrap the data key by another recovery key; the one before opens nothing any more."""
    key = Cipher(store).key
    wrap = _wrap(read_recovery_key(recovery), key, "recovery", cost or STANDARD)
    save(store, _proven(replace(load(store), recovery=wrap), key))
