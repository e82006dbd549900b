"""Syllables of an English word: vowel groups less silent e, with a list of exceptions as data."""

from __future__ import annotations

import re
from functools import cache

from fieldnotes.knowledge.source import Row, shipped_table

COUNTING = "vowel groups less silent e, with listed exceptions; numbers as spoken"

_VOWELS = re.compile(r"(?:[aeiouà-öø-ÿ]|y(?![aeiou]))+")
_SILENT = re.compile(
    r"(?:[^aeiouy]e(?=(?:ly|ment|ments|ful|less|ness)$)"  # safely, movement
    r"|(?<=[aeiouy])[^aeiouyl]+e$|(?<=[aeiouy][lr])e$"  # make, while; but not table
    r"|[^aeiouytd](?<![bcdfgkpt]l)ed$"  # cleaned, not treated or handled
    r"|[^aeiouyszxcg](?<!ch)(?<!sh)(?<![bcdfgkpt]l)es$)"  # makes, not pages
)
_SPLIT = re.compile(
    r"(?<![tscg])i[ao]|quie|eo(?!u)|(?<![qg])ua|iu|[aeou]ing$|ying$|ism$"  # serious, not special
)
_ONES = (2, 1, 1, 1, 1, 1, 1, 2, 1, 1, 1, 3, 1, 2, 2, 2, 2, 3, 2, 2)
_TENS = (0, 0, 2, 2, 2, 2, 2, 3, 2, 2)


@cache
def _exceptions() -> dict[str, int]:
    table = shipped_table("syllables.toml")
    words = Row(table.file, "words", table.data.get("words", {}))
    return {word: int(words.number(word, least=1, most=12)) for word in words.data}


@cache
def syllables(word: str) -> int:
    """Give the syllables of a word, at least 1; the parts of a hyphenated word add up."""
    parts = [part for part in re.split(r"[-\u2019']s?\b|-", word.casefold()) if part]
    return max(1, sum(_part(part) for part in parts))


def _part(word: str) -> int:
    known = _exceptions()
    if word in known:
        return known[word]
    if word.isdecimal():
        return number_syllables(int(word))
    groups = len(_VOWELS.findall(word))
    return max(1, groups - len(_SILENT.findall(word)) + len(_SPLIT.findall(word)))


def number_syllables(number: int) -> int:
    """Give the syllables of a whole number as spoken."""
    if number < 20:
        return _ONES[number]
    if number < 100:
        tens, ones = divmod(number, 10)
        return _TENS[tens] + (_ONES[ones] if ones else 0)
    size, name = next(
        (s, n) for s, n in ((10**9, 2), (10**6, 2), (10**3, 2), (100, 2)) if number >= s
    )
    high, low = divmod(number, size)
    return number_syllables(high) + name + (number_syllables(low) if low else 0)
