"""The age file format, version 1, with a passphrase: written and read in pieces of 64 KiB.

Specification: github.com/C2SP/C2SP/blob/main/age.md. A file is never whole in memory and never
in plain on the disk; reading may jump, so that a zip within is read in place.
"""

from __future__ import annotations

import hmac
import io
import os
import re
import secrets
from base64 import b64decode, b64encode
from typing import TYPE_CHECKING, BinaryIO

from fieldnotes.domain.errors import RefusedInputError, StoreError

if TYPE_CHECKING:
    from pathlib import Path

    from _typeshed import ReadableBuffer, WriteableBuffer

VERSION = b"age-encryption.org/v1\n"
WORK_FACTOR = 18  # log2 N: about a second; `age` itself writes this
MOST_WORK_FACTOR = 22  # 4 GiB; `age` reads no more either
CHUNK = 64 * 1024
ARMOUR = b"-----BEGIN AGE ENCRYPTED FILE-----"
_TAG = 16
_STANZA = re.compile(rb"-> scrypt ([A-Za-z0-9+/]{22}) ([1-9][0-9]*)")
_BODY_CHARACTERS = 43


def _chacha(key: bytes, nonce: bytes, data: bytes, *, encrypt: bool) -> bytes:
    """Encrypt or decrypt; StoreError if the data or the key is not right."""
    try:
        from cryptography.exceptions import InvalidTag  # noqa: PLC0415  (an extra)
        from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305  # noqa: PLC0415
    except ImportError as error:
        raise StoreError("a passphrase needs the extra 'seal': fieldnotes[seal]") from error
    aead = ChaCha20Poly1305(key)
    try:
        return (aead.encrypt if encrypt else aead.decrypt)(nonce, data, None)
    except InvalidTag as error:
        raise StoreError("damaged or altered") from error


def _hkdf(file_key: bytes, salt: bytes, info: bytes) -> bytes:
    """Give 32 bytes by HKDF-SHA-256 (RFC 5869); one block is all that is needed."""
    extracted = hmac.digest(salt or bytes(32), file_key, "sha256")
    return hmac.digest(extracted, info + b"\x01", "sha256")


def _scrypt(passphrase: str, salt: bytes, work_factor: int) -> bytes:
    n = 1 << work_factor
    salt = b"age-encryption.org/v1/scrypt" + salt
    try:
        from cryptography.hazmat.primitives.kdf.scrypt import Scrypt  # noqa: PLC0415  (an extra)
    except ImportError as error:
        raise StoreError("a passphrase needs the extra 'seal': fieldnotes[seal]") from error
    return Scrypt(salt=salt, length=32, n=n, r=8, p=1).derive(passphrase.encode())


def _b64(data: bytes) -> bytes:
    return b64encode(data).rstrip(b"=")


def _unb64(text: bytes) -> bytes:
    data = b64decode(text + b"=" * (-len(text) % 4), validate=True)
    if _b64(data) != text:
        raise ValueError("not canonical")
    return data


def _nonce(number: int, *, last: bool) -> bytes:
    return number.to_bytes(11, "big") + bytes([last])


class AgeWriter(io.RawIOBase):
    """Encrypts what is written to it into a file; only `close` makes it whole."""

    def __init__(self, file: BinaryIO, passphrase: str, work_factor: int = WORK_FACTOR) -> None:
        super().__init__()
        file_key, salt, nonce = (secrets.token_bytes(16) for _ in range(3))
        wrapped = _chacha(_scrypt(passphrase, salt, work_factor), bytes(12), file_key, encrypt=True)
        header = b"%s-> scrypt %s %d\n%s\n---" % (VERSION, _b64(salt), work_factor, _b64(wrapped))
        mac = hmac.digest(_hkdf(file_key, b"", b"header"), header, "sha256")
        file.write(b"%s %s\n%s" % (header, _b64(mac), nonce))
        self._file = file
        self._key = _hkdf(file_key, nonce, b"payload")
        self._rest = bytearray()
        self._number = 0

    def writable(self) -> bool:
        """Say yes."""
        return True

    def write(self, data: ReadableBuffer) -> int:
        """Take data in; whole pieces that others follow go out."""
        self._rest += data
        while len(self._rest) > CHUNK:
            self._put(bytes(self._rest[:CHUNK]), last=False)
            del self._rest[:CHUNK]
        return memoryview(data).nbytes

    def _put(self, piece: bytes, *, last: bool) -> None:
        nonce = _nonce(self._number, last=last)
        self._file.write(_chacha(self._key, nonce, piece, encrypt=True))
        self._number += 1

    def close(self) -> None:
        """Write the last piece, marked as the last."""
        if not self.closed:
            self._put(bytes(self._rest), last=True)
        super().close()


class AgeReader(io.RawIOBase):
    """Decrypts a file piece by piece, anywhere in it; StoreError where it was altered."""

    def __init__(self, file: BinaryIO, key: bytes, start: int) -> None:
        super().__init__()
        self._file, self._key, self._start = file, key, start
        total = file.seek(0, os.SEEK_END) - start
        self._pieces = max(1, -(-total // (CHUNK + _TAG)))
        self._size = total - self._pieces * _TAG
        self._at = 0
        self._held = (-1, b"")
        if not self._piece(self._pieces - 1) and self._pieces > 1:
            raise StoreError("damaged or altered")  # the end is vouched for by its last piece

    def readable(self) -> bool:
        """Say yes."""
        return True

    def seekable(self) -> bool:
        """Say yes."""
        return True

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        """Go to a place in what is within."""
        base = {os.SEEK_SET: 0, os.SEEK_CUR: self._at, os.SEEK_END: self._size}[whence]
        self._at = max(0, base + offset)
        return self._at

    def readinto(self, buffer: WriteableBuffer) -> int:
        """Give what is there up to the end of a piece."""
        if self._at >= self._size:
            return 0
        number, within = divmod(self._at, CHUNK)
        view = memoryview(buffer)
        found = self._piece(number)[within : within + view.nbytes]
        view[: len(found)] = found
        self._at += len(found)
        return len(found)

    def _piece(self, number: int) -> bytes:
        if self._held[0] != number:
            self._file.seek(self._start + number * (CHUNK + _TAG))
            data = self._file.read(CHUNK + _TAG)
            nonce = _nonce(number, last=number == self._pieces - 1)
            self._held = (number, _chacha(self._key, nonce, data, encrypt=False))
        return self._held[1]


class AgeFile:
    """A file in the age format whose passphrase is known; it opens like a path."""

    def __init__(self, path: Path, passphrase: str) -> None:
        self.name = path.name
        self._path = path
        try:
            with path.open("rb") as file:
                self._key, self._start = _opened(file, passphrase)
        except OSError as error:
            raise StoreError(f"{path.name}: {error.strerror or error}") from error
        except StoreError as error:
            raise StoreError(f"{path.name}: {error}") from error

    def open(self, mode: str = "rb") -> BinaryIO:
        """Open what is within, to read."""
        if mode != "rb":
            raise ValueError(mode)
        file = self._path.open("rb")
        try:
            return io.BufferedReader(AgeReader(file, self._key, self._start), CHUNK)
        except StoreError as error:
            file.close()
            raise StoreError(f"{self.name}: {error}") from error


def is_age(path: Path) -> bool:
    """Whether a file says it is in the age format; StoreError for one written out as text."""
    try:
        with path.open("rb") as file:
            start = file.read(CHUNK).lstrip()
    except OSError:
        return False
    if start.startswith(ARMOUR):
        way = f"'age -d {path.name} > backup.zip' opens it, then restore backup.zip"
        raise StoreError(f"{path.name} is an age file written out as text (armoured): {way}")
    return start.startswith(VERSION)


def _opened(file: BinaryIO, passphrase: str) -> tuple[bytes, int]:
    """Give the payload's key and where it begins; RefusedInputError for a wrong passphrase."""
    try:
        lines = [file.readline(200) for _ in range(4)]
        salt, work_factor, wrapped, mac = _header(lines)
    except ValueError as error:
        raise StoreError("not a file in the age format, or damaged at its beginning") from error
    if work_factor > MOST_WORK_FACTOR:
        raise StoreError(f"asks for more work than is sane (2^{work_factor})")
    if not work_factor or len(wrapped) != 32:
        raise StoreError("damaged at its beginning")
    wrap_key = _scrypt(passphrase, salt, work_factor)
    try:
        file_key = _chacha(wrap_key, bytes(12), wrapped, encrypt=False)
    except StoreError as error:
        raise RefusedInputError("passphrase", "that is not the passphrase of this file") from error
    header = b"".join(lines)[: -len(lines[3]) + 3]
    if not hmac.compare_digest(mac, hmac.digest(_hkdf(file_key, b"", b"header"), header, "sha256")):
        raise StoreError("damaged or altered at its beginning")
    nonce = file.read(16)
    return _hkdf(file_key, nonce, b"payload"), file.tell()


def _header(lines: list[bytes]) -> tuple[bytes, int, bytes, bytes]:
    version, stanza, body, end = lines
    found = _STANZA.fullmatch(stanza.removesuffix(b"\n"))
    if (
        version != VERSION
        or found is None
        or len(body) != _BODY_CHARACTERS + 1
        or not (end.startswith(b"--- ") and all(line.endswith(b"\n") for line in lines))
    ):
        raise ValueError("another header")
    mac = _unb64(end[4:-1])
    return _unb64(found[1]), int(found[2]), _unb64(body[:-1]), mac
