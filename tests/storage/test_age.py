"""Backups under a passphrase are files in the age format: other programs open them, we open theirs.

The format is compared with pyrage (the rage library) and, where it is installed, Debian's `age`.
"""

from __future__ import annotations

import datetime as dt
import io
import os
import shutil
import signal
import sys
import time
import zipfile
from base64 import b64encode

import pyrage
import pytest

from fieldnotes.cli.main import main
from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.storage import age
from fieldnotes.storage.age import CHUNK, AgeFile, AgeWriter, is_age
from fieldnotes.storage.backup import back_up, contents, restore
from fieldnotes.storage.casebook import Casebook

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
WORDS = "plum saddle quiet rain"
CHEAP = 4


def written(path, data, passphrase=WORDS, pieces=1):
    step = max(1, len(data) // pieces)
    with path.open("wb") as file, AgeWriter(file, passphrase, CHEAP) as out:
        for at in range(0, len(data), step):
            out.write(data[at : at + step])
    return path


def read(path, passphrase=WORDS):
    with AgeFile(path, passphrase).open() as file:
        return file.read()


SIZES = (0, 1, CHUNK - 1, CHUNK, CHUNK + 1, 2 * CHUNK, 3 * CHUNK + 7)


@pytest.mark.parametrize("size", SIZES)
def test_another_program_reads_what_we_write(tmp_path, size):
    data = os.urandom(size)
    path = written(tmp_path / "x.age", data, pieces=3)
    assert pyrage.passphrase.decrypt(path.read_bytes(), WORDS) == data
    assert read(path) == data
    assert is_age(path)


def test_we_read_what_another_program_writes(tmp_path):
    data = os.urandom(2 * CHUNK)
    path = tmp_path / "theirs.age"
    path.write_bytes(pyrage.passphrase.encrypt(data, "größer"))
    assert read(path, "größer") == data


def test_a_zip_within_is_read_in_place(tmp_path):
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as zipped:
        for number in range(6):
            zipped.writestr(f"f{number}", bytes([number]) * 50_000)
    with AgeFile(written(tmp_path / "x.age", buffer.getvalue()), WORDS).open() as file:
        names = zipfile.ZipFile(file)
        assert names.read("f5") == b"\x05" * 50_000
        assert names.read("f0") == bytes(50_000)


def test_a_wrong_passphrase_opens_nothing(tmp_path):
    with pytest.raises(RefusedInputError, match="not the passphrase"):
        read(written(tmp_path / "x.age", b"records"), "plum saddle quiet rein")


def test_a_missing_library_is_not_called_a_wrong_passphrase(tmp_path, monkeypatch):
    path = written(tmp_path / "x.age", b"records")
    monkeypatch.setitem(sys.modules, "cryptography.hazmat.primitives.kdf.scrypt", None)
    with pytest.raises(StoreError, match=r"fieldnotes\[seal\]"):
        read(path)


def test_every_flipped_bit_of_the_header_and_any_of_the_rest_is_refused(tmp_path):
    path = written(tmp_path / "x.age", os.urandom(CHUNK + 30))
    whole = path.read_bytes()
    header = whole.index(b"\n--- ") + 5 + 43 + 1 + 16
    places = [*range(header), *range(header, len(whole), 4099), len(whole) - 1]
    for place in places:
        data = bytearray(whole)
        data[place] ^= 1
        path.write_bytes(data)
        with pytest.raises((StoreError, RefusedInputError)):
            read(path)


@pytest.mark.parametrize("cut", [1, 15, 16, 30 + 16, CHUNK + 16 + 30, CHUNK + 30])
def test_a_file_cut_short_or_with_a_tail_is_refused(tmp_path, cut):
    path = written(tmp_path / "x.age", os.urandom(CHUNK + 30))
    whole = path.read_bytes()
    for data in (whole[:-cut], whole + bytes(cut)):
        path.write_bytes(data)
        with pytest.raises(StoreError):
            read(path)


STANZAS = (  # the headers the published test kit (C2SP CCTV, age, scrypt_*) says must fail
    b"-> scrypt %s 04\n",
    b"-> scrypt %s +4\n",
    b"-> scrypt %s 0x4\n",
    b"-> scrypt %s -4\n",
    b"-> scrypt %s 4 more\n",
    b"-> scrypt %s 0\n",
    b"-> scrypt %s 23\n",
    b"-> scrypt %s 18446744073709551616\n",
    b"-> scrypt %s\n",
    b"-> Scrypt %s 4\n",
    b"-> scrypt %s== 4\n",
    b"-> scrypt %sAA 4\n",
    b"-> scrypt 4\n",
)


@pytest.mark.parametrize("stanza", STANZAS)
def test_a_header_against_the_rules_is_refused(tmp_path, stanza):
    path = written(tmp_path / "x.age", b"records")
    lines = path.read_bytes().split(b"\n", 2)
    salt = lines[1].split(b" ")[2]
    line = stanza % salt if b"%s" in stanza else stanza
    path.write_bytes(lines[0] + b"\n" + line + lines[2])
    with pytest.raises((StoreError, RefusedInputError)):
        read(path)


@pytest.fixture
def cheap(monkeypatch):
    writer = AgeWriter.__init__
    monkeypatch.setattr(AgeWriter, "__init__", lambda s, f, p: writer(s, f, p, CHEAP))


def test_a_backup_under_a_passphrase_restores_and_shows_no_word_without(
    cheap, sound, store, tmp_path
):
    archive = tmp_path / "out.zip.age"
    count = back_up(store, archive, NOW, passphrase=WORDS)
    assert b"note 3" not in archive.read_bytes()
    again = tmp_path / "again"
    assert restore(AgeFile(archive, WORDS), again) == count
    assert Casebook(again).case("k7m2q") == Casebook(sound).case("k7m2q")
    inner = tmp_path / "inner.zip"
    inner.write_bytes(pyrage.passphrase.decrypt(archive.read_bytes(), WORDS))
    assert dict(contents(inner)) == dict(contents(AgeFile(archive, WORDS)))


@pytest.mark.skipif(not shutil.which("age"), reason="the program age is not installed")
def test_the_program_age_opens_a_backup(cheap, store, tmp_path):
    import pty

    archive = tmp_path / "out.zip.age"
    back_up(store, archive, NOW, passphrase=WORDS)
    plain = tmp_path / "plain.zip"
    pid, terminal = pty.fork()
    if pid == 0:
        signal.alarm(20)
        os.execvp("age", ["age", "-d", "-o", str(plain), str(archive)])
    shown = b""
    while b"passphrase" not in shown:
        shown += os.read(terminal, 1000)
    time.sleep(0.3)  # it asks first and listens then
    os.write(terminal, f"{WORDS}\n".encode())
    assert os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == 0
    assert zipfile.ZipFile(plain).testzip() is None


def test_the_work_a_guess_costs_is_what_the_standard_program_takes():
    """`age` writes 2^18 (its README); OWASP's least for scrypt is 2^17 (cheat sheet of 2023)."""
    assert age.WORK_FACTOR >= 17


def armoured(data):
    """C2SP age.md, "ASCII armor": base64 in lines of 64 between the two markers."""
    text = b64encode(data).decode()
    lines = [text[i : i + 64] for i in range(0, len(text), 64)]
    marks = ["-----BEGIN AGE ENCRYPTED FILE-----", "-----END AGE ENCRYPTED FILE-----"]
    return "\r\n\n" + "\n".join([marks[0], *lines, marks[1], ""])


def test_a_backup_written_out_as_text_is_refused_and_the_way_to_open_it_is_told(tmp_path, capsys):
    file = tmp_path / "all.age"
    file.write_text(armoured(written(tmp_path / "x.age", b"words").read_bytes()))
    assert main(["--data", str(tmp_path / "new"), "restore", str(file)]) == 1
    told = capsys.readouterr().err
    assert "all.age is an age file written out as text (armoured)" in told
    assert "'age -d all.age > backup.zip' opens it" in told
    assert not (tmp_path / "new").exists()
