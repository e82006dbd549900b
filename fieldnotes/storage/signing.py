"""This computer's signing key (Ed25519, RFC 8032): made when it first signs, never backed up."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Any

from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.storage.cipher import cipher_of
from fieldnotes.storage.durable import write_once

if TYPE_CHECKING:
    from pathlib import Path

KEY_FILE = "signing.key"
SHOWN_BYTES = 16  # of the key's hash: enough to compare on the phone


def _library() -> Any:  # noqa: ANN401  (a module)
    try:
        from cryptography.hazmat.primitives.asymmetric import ed25519  # noqa: PLC0415  (an extra)
    except ImportError as error:
        raise RefusedInputError(
            "file", "signed files need the extra 'seal': pip install 'fieldnotes[seal]'"
        ) from error
    return ed25519


def _private(folder: Path) -> Any:  # noqa: ANN401  (the library's own type)
    path, library, cipher = folder / KEY_FILE, _library(), cipher_of(folder)
    try:
        if not path.is_file():
            fresh = library.Ed25519PrivateKey.generate().private_bytes_raw()
            write_once(path, cipher.encrypt(path, fresh))
        return library.Ed25519PrivateKey.from_private_bytes(cipher.read(path))
    except (OSError, ValueError) as error:
        raise StoreError(f"{KEY_FILE} cannot be read ({error})") from error


def public_key(folder: Path) -> str:
    """Give this computer's public key in hexadecimal."""
    return str(_private(folder).public_key().public_bytes_raw().hex())


def signature(folder: Path, data: bytes) -> str:
    """Sign bytes; gives the signature in hexadecimal."""
    return str(_private(folder).sign(data).hex())


def is_signed(key: str, signed: str, data: bytes) -> bool:
    """Whether a signature over bytes is that of a public key; both in hexadecimal."""
    library = _library()  # it says what to install before anything of it is imported
    from cryptography.exceptions import InvalidSignature  # noqa: PLC0415  (an extra)

    try:
        public = library.Ed25519PublicKey.from_public_bytes(bytes.fromhex(key))
        public.verify(bytes.fromhex(signed), data)
    except (InvalidSignature, ValueError):
        return False
    return True


def fingerprint(key: str) -> str:
    """Give the words two people compare: the start of the key's SHA-256 in groups of four."""
    told = hashlib.sha256(bytes.fromhex(key)).digest()[:SHOWN_BYTES].hex()
    return " ".join(told[i : i + 4] for i in range(0, len(told), 4))
