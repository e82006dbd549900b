"""The recovery key as it is printed and typed: eight groups of four characters and a check."""

from __future__ import annotations

import secrets

from fieldnotes.domain.errors import RefusedInputError

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # no I, L, O, U: they are misread
GROUPS, IN_GROUP = 8, 4  # 32 characters of 5 bits: 160 random bits
_MISREAD = str.maketrans("OIL", "011")


def new_recovery_key() -> str:
    """Give a random recovery key."""
    groups = ([secrets.randbelow(32) for _ in range(IN_GROUP)] for _ in range(GROUPS))
    return "-".join(_written(digits, number) for number, digits in enumerate(groups))


def _written(digits: list[int], group: int) -> str:
    return "".join(ALPHABET[d] for d in (*digits, _check(digits, group)))


def _check(digits: list[int], group: int) -> int:
    """Give the check digit: a polynomial over GF(32), so that no single slip goes unseen.

    One wrong character, two neighbours changed over and two groups changed over all change it.
    """
    check = group + 1
    for digit in digits:
        check = _doubled(check) ^ digit
    return _doubled(check)


def _doubled(value: int) -> int:
    return value << 1 ^ (0x25 if value & 16 else 0)  # by x, modulo x^5 + x^2 + 1


def _bare(text: str) -> str:
    return "".join(text.upper().replace("-", " ").split()).translate(_MISREAD)


def looks_like_one(text: str) -> bool:
    """Whether a text has the length and the characters of a recovery key."""
    bare = _bare(text)
    return len(bare) == GROUPS * (IN_GROUP + 1) and set(bare) <= set(ALPHABET)


def read_recovery_key(text: str) -> str:
    """Give a typed recovery key as it was printed; RefusedInputError names the mistyped group."""
    bare, size = _bare(text), IN_GROUP + 1
    if not looks_like_one(text):
        raise RefusedInputError("recovery key", f"has {GROUPS} groups of {size} characters")
    groups = [bare[i : i + size] for i in range(0, len(bare), size)]
    for number, group in enumerate(groups):
        if group != _written([ALPHABET.index(c) for c in group[:IN_GROUP]], number):
            raise RefusedInputError("recovery key", f"group {number + 1} ({group}) is mistyped")
    return "-".join(groups)
