"""The keys of a locked store: known answers of the primitives, the recovery key, both wrappings."""

from __future__ import annotations

import itertools

import pytest
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

from fieldnotes.domain.errors import RefusedInputError, StoreError
from fieldnotes.storage import vault
from fieldnotes.storage.cipher import _HELD, Cipher, PassphraseNeededError, cipher_of
from fieldnotes.storage.recovery_key import (
    ALPHABET,
    GROUPS,
    new_recovery_key,
    read_recovery_key,
)
from fieldnotes.storage.vault import Cost

WORDS, OTHER = "plum saddle quiet rain", "hay lantern brook sky"
CHEAP = Cost(8 * 4, 1, 4)


@pytest.fixture
def locked(tmp_path):
    (tmp_path / "store.json").write_text("{}")
    recovery = new_recovery_key()
    vault.new_vault(tmp_path, WORDS, recovery, CHEAP)
    vault.set_state(tmp_path, "locked")
    key = Cipher(tmp_path).key
    _HELD.clear()
    return tmp_path, recovery, key


def test_argon2id_gives_the_known_answer_of_rfc_9106():
    """RFC 9106, section 5.3."""
    derive = Argon2id(
        salt=b"\x02" * 16, length=32, iterations=3, lanes=4, memory_cost=32,
        secret=b"\x03" * 8, ad=b"\x04" * 12,
    )  # fmt: skip
    assert derive.derive(b"\x01" * 32).hex() == (
        "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659"
    )


def test_the_cipher_gives_the_known_answer_of_rfc_8439():
    """RFC 8439, section 2.8.2."""
    text = (
        b"Ladies and Gentlemen of the class of '99: If I could offer you only one tip for the "
        b"future, sunscreen would be it."
    )
    nonce = bytes.fromhex("070000004041424344454647")
    sealed = ChaCha20Poly1305(bytes(range(0x80, 0xA0))).encrypt(
        nonce, text, bytes.fromhex("50515253c0c1c2c3c4c5c6c7")
    )
    assert sealed[:16].hex() == "d31a8d34648e60db7b86afbc53ef7ec2"
    assert sealed[-16:].hex() == "1ae10b594f09e26a7e902ecbd0600691"


def test_a_guess_costs_at_least_what_owasp_asks():
    """19 MiB, 2 passes, 1 lane: OWASP Password Storage Cheat Sheet, 2023."""
    assert vault.STANDARD.memory_kib >= 19 * 1024
    assert vault.STANDARD.passes >= 2


def test_passphrase_and_recovery_key_open_and_nothing_else_does(locked):
    store, recovery, key = locked
    with pytest.raises(PassphraseNeededError):
        cipher_of(store)
    for wrong in ("", WORDS.upper(), WORDS + " ", OTHER, new_recovery_key()):
        with pytest.raises(RefusedInputError, match="nothing was changed"):
            vault.open_vault(store, wrong)
    for secret in (WORDS, recovery, recovery.lower().replace("-", " ")):
        _HELD.clear()
        vault.open_vault(store, secret)
        assert cipher_of(store).key == key


def test_a_passphrase_is_the_same_from_any_keyboard(tmp_path):
    vault.new_vault(tmp_path, "fu\u0308r immer im Stall", new_recovery_key(), CHEAP)
    vault.open_vault(tmp_path, "f\u00fcr immer im Stall")


def test_a_short_passphrase_is_refused_and_no_keys_are_written(tmp_path):
    with pytest.raises(RefusedInputError, match="at least"):
        vault.new_vault(tmp_path, "pony1", new_recovery_key(), CHEAP)
    assert not list(tmp_path.iterdir())


def test_changing_either_leaves_the_data_key_and_shuts_the_old_one_out(locked):
    store, recovery, key = locked
    vault.open_vault(store, recovery)
    fresh = new_recovery_key()
    vault.set_passphrase(store, OTHER, CHEAP)
    vault.set_recovery_key(store, fresh, CHEAP)
    for old in (WORDS, recovery):
        with pytest.raises(RefusedInputError):
            vault.open_vault(store, old)
    for new in (OTHER, fresh):
        vault.open_vault(store, new)
        assert Cipher(store).key == key


def test_keys_changed_by_hand_are_told_from_a_wrong_passphrase(locked):
    """A state set back would let unencrypted files in; its hash can be redone, its proof not."""
    store, _, _ = locked
    found = vault.load(store)
    vault.save(store, vault.replace(found, state="locking"))
    with pytest.raises(StoreError, match="altered"):
        vault.open_vault(store, WORDS)


def test_one_damaged_file_of_keys_is_made_good_from_the_other(locked):
    store, _, _ = locked
    whole = (store / "keys.json").read_bytes()
    for name, at in itertools.product(("keys.json", "keys.copy.json"), range(0, len(whole), 131)):
        data = bytearray(whole)
        data[at] ^= 1
        (store / name).write_bytes(data)
        vault.mend_keys(store)
        assert (store / name).read_bytes() == whole
    vault.open_vault(store, WORDS)
    for name in ("keys.json", "keys.copy.json"):
        (store / name).write_bytes(whole[:-9])
    with pytest.raises(StoreError, match="damaged, and so is its copy"):
        vault.open_vault(store, WORDS)


@pytest.mark.parametrize(
    "cost", [Cost(1 << 40, 1, 1), Cost(64, 10**9, 1), Cost(64, 1, 9), Cost(64, 0, 1), Cost(8, 1, 0)]
)
def test_keys_that_ask_for_what_no_computer_gives_are_not_followed(locked, cost):
    store, _, _ = locked
    found = vault.load(store)
    greedy = vault.replace(found.passphrase, cost=cost)
    vault.save(store, vault.replace(found, passphrase=greedy))
    with pytest.raises(StoreError, match="damaged"):
        vault.open_vault(store, WORDS)


def test_every_single_slip_in_a_recovery_key_is_named_by_its_group():
    whole = new_recovery_key()
    groups = whole.split("-")
    assert len(groups) == GROUPS
    assert len(set(ALPHABET)) == 32
    slips = []
    for number, group in enumerate(groups):
        for at in range(5):
            slips += [
                (number, group[:at] + c + group[at + 1 :]) for c in ALPHABET if c != group[at]
            ]
        for at in range(4):
            turned = group[:at] + group[at + 1] + group[at] + group[at + 2 :]
            slips += [(number, turned)] if turned != group else []
        slips += [(number, other) for other in groups if other != group]
    assert len(slips) > 1200
    for number, slip in slips:
        typed = "-".join([*groups[:number], slip, *groups[number + 1 :]])
        with pytest.raises(RefusedInputError, match=f"group {number + 1} "):
            read_recovery_key(typed)


def test_a_recovery_key_is_read_as_people_write_it():
    whole = next(k for k in iter(new_recovery_key, "") if "0" in k and "1" in k)
    typed = whole.lower().replace("0", "o").replace("1", "l").replace("-", "  ")
    assert read_recovery_key(typed) == whole
